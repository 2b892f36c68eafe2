import { Stopped } from './fault.ts';

/**
 * How long work reports and how it is stopped. `step` is called often, with the stage's name and the share
 * done (0…1); it throws `Stopped` when the user has asked to stop.
 */
export interface Progress {
	step(stage: string, share: number): void;
}

/** Reports nothing, never stops. */
export const silent: Progress = { step() {} };

/** Wraps a listener and an AbortSignal-like flag into a Progress. */
export function progress(
	listen: (stage: string, share: number) => void,
	signal?: { readonly aborted: boolean },
): Progress {
	return {
		step(stage, share) {
			if (signal?.aborted) throw new Stopped();
			listen(stage, share);
		},
	};
}
