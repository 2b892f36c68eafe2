import type { Surface } from '../../model/index.ts';

/** Change of each grid cell by correction. NaN and 0 where there is no support. */
export interface Difference {
	/** Corrected less as recorded. */
	change_kg_ha: Float32Array;
	/** Standard uncertainty of the change: that of the level only, since the records' noise is in both values and cancels. */
	u_kg_ha: Float32Array;
	/** 1 where the change exceeds twice its uncertainty. */
	clear: Uint8Array;
	/** Share of supported cells with such a change, 0…1; NaN without cells. */
	clearShare: number;
}

/** The change of each cell by correction, and whether it exceeds its uncertainty. */
export function difference(
	surface: Pick<Surface, 'yield_kg_ha' | 'monitor_kg_ha' | 'se_kg_ha' | 'common_kg_ha'>,
): Difference {
	const cells = surface.yield_kg_ha.length;
	const change_kg_ha = new Float32Array(cells).fill(Number.NaN);
	const u_kg_ha = new Float32Array(cells).fill(Number.NaN);
	const clear = new Uint8Array(cells);
	let supported = 0;
	let exceeding = 0;
	for (let k = 0; k < cells; k++) {
		const change = surface.yield_kg_ha[k]! - surface.monitor_kg_ha[k]!;
		if (!Number.isFinite(change)) continue;
		supported++;
		change_kg_ha[k] = change;
		u_kg_ha[k] = surface.common_kg_ha?.[k] ?? surface.se_kg_ha[k]!;
		if (Math.abs(change) > 2 * u_kg_ha[k]!) {
			clear[k] = 1;
			exceeding++;
		}
	}
	return { change_kg_ha, u_kg_ha, clear, clearShare: exceeding / supported };
}
