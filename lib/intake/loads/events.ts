import type { RawColumn, RawTable, Role } from '../../formats/index.ts';
import type { LoadTable } from './model.ts';
import { textOf } from './roles.ts';

/** Kind of each row: by a column of events, by the sign of the weight, by its note. */
export function eventsOf(
	table: RawTable,
	roles: Map<Role, RawColumn>,
	out: LoadTable,
): (row: number, weight: number) => 'dump' | 'offload' {
	const column = roles.get('event');
	if (column?.text) {
		const text = column.text;
		const strange = new Set<string>();
		const read = (i: number): 'dump' | 'offload' => {
			const word = (text[i] as string).toLowerCase();
			if (/off|unload|out|truck|deliver|transfer|semi|trailer|elevator/.test(word)) return 'offload';
			if (!/dump|load|in|combine|fill|receive|^$/.test(word)) strange.add(word);
			return 'dump';
		};
		for (let i = 0; i < table.n; i++) read(i);
		if (strange.size > 0)
			out.notes.push(
				`words of "${column.name}" that are not known are read as dumps: ${[...strange].slice(0, 5).join(', ')}`,
			);
		return read;
	}
	const weight = roles.get('weight')?.numbers;
	if (weight?.some((w) => w < 0)) {
		out.notes.push('weights below 0 are grain that left the cart');
		return (_, w) => (w < 0 ? 'offload' : 'dump');
	}
	const combine = textOf(roles.get('combine'), table.n);
	const truck = textOf(roles.get('truck_load'), table.n);
	if (
		out.use === 'cart' &&
		roles.has('combine') &&
		roles.has('truck_load') &&
		combine.some((c, i) => c === '' && truck[i] !== '')
	) {
		out.notes.push('rows with a truck and no combine are read as grain that left the cart');
		return (i) => (combine[i] === '' && truck[i] !== '' ? 'offload' : 'dump');
	}
	if (out.use === 'cart') out.notes.push('no column tells dumps from offloads: every row is read as a dump');
	return () => 'dump';
}
