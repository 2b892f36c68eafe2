import { Stopped } from './fault.ts';

/**
 * Progress reports and stopping of long work. `step` is called often, with the stage's name and the share
 * done (0…1); it throws `Stopped` when the user has asked to stop.
 */
export interface Progress {
	step(stage: string, share: number): void;
}

/** Ignores all reports and never stops. */
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

/** Makes a part of a stage, or takes what it made before from the same input. */
export type Keep = <T>(part: string, read: readonly unknown[], make: () => T) => T;

/** Keeps nothing. */
export const afresh: Keep = (_part, _read, make) => make();
