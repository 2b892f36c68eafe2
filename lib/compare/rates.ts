import type { ComparedCombine, ComparedRow } from '../model/index.ts';
import { row, welch } from './verdict-rows.ts';
import type { Day } from './workday.ts';

/** Rows on rates of work and shares of time; intervals from pieces of a quarter of an hour. */
export function rateRows(A: ComparedCombine, B: ComparedCombine, p: Day, q: Day): ComparedRow[] {
	const rows: ComparedRow[] = [];
	const add = (
		head: Pick<ComparedRow, 'what' | 'label' | 'unit' | 'a' | 'b'>,
		of: (d: Day['pieces'][number]) => number,
	) => {
		const w = welch(p.pieces.map(of), q.pieces.map(of));
		// Show the whole day's numbers, with the scatter of the pieces.
		const { a, b } = head;
		const shift = a - b - w.difference;
		rows.push(
			row({ ...head, shared: false }, a - b, [w.interval[0] + shift, w.interval[1] + shift], {
				missing: 'less than half an hour of work',
			}),
		);
	};
	add(
		{ what: 'area_rate', label: 'area per hour', unit: 'ha/h', a: A.area_ha_h, b: B.area_ha_h },
		(d) => d.area_m2 / 1e4 / (d.worked_s / 3600),
	);
	add(
		{ what: 'mass_rate', label: 'wet weight per hour', unit: 't/h', a: A.mass_t_h, b: B.mass_t_h },
		(d) => d.mass_kg / 1e3 / (d.worked_s / 3600),
	);
	const kinds = [
		['cutting', 'cutting', 'cutting_s'],
		['turning', 'turning and driving', 'turning_s'],
		['dumping', 'dumping while not cutting', 'dumping_s'],
		['waiting', 'waiting with a full tank', 'waiting_s'],
		['standing', 'stopped otherwise', 'standing_s'],
	] as const;
	for (const [what, label, key] of kinds) {
		const share = (t: Day['time'], s: number) => (100 * t[key]) / s;
		add({ what, label, unit: '% of time', a: share(A.time, A.worked_s), b: share(B.time, B.worked_s) }, (d) =>
			share(d.time, d.worked_s),
		);
	}
	return rows;
}
