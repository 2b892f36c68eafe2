import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import { type Each, type FieldPlan, inTurn, type Records, type Seam, type Track } from '../model/index.ts';
import { contacts, type Ground, groundOf } from './contacts.ts';
import { varietyOfPasses } from './variety.ts';

/** Contacts shorter than this are corners and crossings, not seams. */
const LEAST_M = 40;

/**
 * Lines where two neighboring passes meet, between combines and within each. The first combine of a pair is the one
 * listed first in `Records.combines`. Seams where the variety changes are marked as excluded.
 */
export function findSeams(
	input: {
		records: Records;
		track: Track;
		plan: FieldPlan;
		varieties: FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null;
		ground?: Ground;
	},
	each: Each = inTurn,
): Seam[] {
	const { records, track, varieties, ground = groundOf(track) } = input;
	const variety = varietyOfPasses(records, track, varieties);
	const seams: Seam[] = [];
	for (const c of contacts(track, ground, each)) {
		const { length_m } = c;
		if (length_m < LEAST_M) continue;
		const swap = track.passes[c.a]!.combine > track.passes[c.b]!.combine;
		const passA = swap ? c.b : c.a;
		const passB = swap ? c.a : c.b;
		const a = variety(passA);
		const b = variety(passB);
		seams.push({
			passA,
			passB,
			combineA: track.passes[passA]!.combine,
			combineB: track.passes[passB]!.combine,
			length_m,
			line_m: Float64Array.from(c.line_m),
			excluded: a !== null && b !== null && a !== b ? `variety changes from ${a} to ${b}` : null,
		});
	}
	return seams;
}
