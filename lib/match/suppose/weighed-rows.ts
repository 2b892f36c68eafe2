import type { CartStep, LoadBook } from '../../model/index.ts';

/** A row of the cart log. */
export interface Row {
	weight_kg: number;
	u_kg: number;
}

/** The load book with some rows of its cart log changed. */
export function withRows(book: LoadBook, steps: readonly CartStep[], change: <T extends Row>(row: T) => T): LoadBook {
	const [dumps, offloads] = [new Set(steps.map((s) => s.dump)), new Set(steps.map((s) => s.offload))];
	return {
		...book,
		dumps: book.dumps.map((row, i) => (dumps.has(i) ? change(row) : row)),
		offloads: book.offloads.map((row, i) => (offloads.has(i) ? change(row) : row)),
	};
}

/** A row whose weight is in another unit, of this size. */
export const inUnit =
	(size: number) =>
	<T extends Row>(row: T): T => ({ ...row, weight_kg: row.weight_kg * size, u_kg: row.u_kg * size });
