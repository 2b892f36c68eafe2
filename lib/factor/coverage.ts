import type { Match, SeamJump } from '../model/index.ts';

/** Which weights each combine has, and whether its factor can be estimated; one entry per combine. */
export interface Coverage {
	/** Number of weights that cover this combine alone, which may show how its factor varies. */
	own: number[];
	/** Number of all weights that it has a part in. */
	any: number[];
	/** Weights, or seams with a combine that has weights, determine its factor. */
	estimable: boolean[];
}

/** Finds which factors the weights `use` determine, directly or over seams, through other combines if need be. */
export function coverageOf(
	match: Match,
	use: readonly number[],
	jumps: readonly SeamJump[],
	combines: number,
): Coverage {
	const own = new Array<number>(combines).fill(0);
	const any = new Array<number>(combines).fill(0);
	const totals = use.every((w) => match.weighings[w]!.kind === 'total');
	for (const i of use) {
		const w = match.weighings[i]!;
		// A total beside other weights adds little about any one combine.
		if (w.kind === 'total' && !totals) continue;
		const parts =
			w.kind === 'total' ? own.map((_, c) => c) : [...new Set(w.unloadings.map((u) => match.unloadings[u]!.combine))];
		for (const c of parts) any[c]!++;
		if (parts.length !== 1) continue;
		own[parts[0]!]!++;
	}
	const estimable = any.map((n) => n > 0);
	for (let turn = 0; turn < combines; turn++) {
		for (const j of jumps) {
			if (!isUsableJump(j)) continue;
			if (estimable[j.combineA] || estimable[j.combineB]) {
				estimable[j.combineA] = true;
				estimable[j.combineB] = true;
			}
		}
	}
	return { own, any, estimable };
}

/** Whether a jump is between two combines and has a finite estimate. */
export function isUsableJump(j: SeamJump): boolean {
	return j.combineA !== j.combineB && Number.isFinite(j.log_jump) && Number.isFinite(j.u_log) && j.u_log > 0;
}
