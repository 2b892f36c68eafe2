import type { Dump, LoadBook, Offload } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { weightColumn } from '../problem/prepare.ts';
import { type Supposition, useWeights } from './supposition.ts';

/** Prior cost of a column that slipped by a row, nats: of four to eight ways to slip, each. */
const SLIPPED = 10;
/** With fewer dumps any would do. */
const ENOUGH = 5;

type Row = Dump | Offload;

const COLUMNS = {
	weight: (to: Row, { weight_kg, u_kg }: Row): Row => ({ ...to, weight_kg, u_kg }),
	time: (to: Row, { time_s, timeGrain }: Row): Row => ({ ...to, time_s, timeGrain }),
};

/** The field with the weights or the times of the cart log moved by one row, as where a cell of a sheet was inserted or removed. */
export function shiftedRows({ input }: Explained): Supposition[] {
	const { book, plan } = input;
	// A clock set wrong by hand would look like it.
	if (book.dumps.length < ENOUGH || plan.pins.clock_offset_s !== undefined) return [];
	const lists = [book.dumps, ...(book.offloads.length > 0 ? [[...book.dumps, ...book.offloads]] : [])];
	return (['weight', 'time'] as const).flatMap((column) =>
		[1, -1].flatMap((by) => lists.map((rows) => shifted(input, column, by, rows))),
	);
}

/** Each row with the entry of the row after it (`by` 1) or before it (−1); the one that has none is set aside. */
function shifted(
	input: Explained['input'],
	column: keyof typeof COLUMNS,
	by: number,
	rows: readonly Row[],
): Supposition {
	const inOrder = rows.toSorted((a, b) => a.order - b.order);
	const source = new Map(inOrder.map((row, i) => [row, inOrder[i + by]]));
	const without = inOrder.at(by > 0 ? -1 : 0)!;
	const moved = <T extends Row>(list: readonly T[]): T[] =>
		list.map((row) => COLUMNS[column](row, source.get(row) ?? row) as T);
	const offloads = moved(input.book.offloads).filter((_, i) => input.book.offloads[i] !== without);
	const book: LoadBook = { ...input.book, dumps: moved(input.book.dumps), offloads };
	const dump = input.book.dumps.findIndex((d) => d === without);
	const aside = new Map(dump < 0 ? [] : [[dump, `its own ${column} seems not to be in the cart log`]]);
	const [name, way] = [column === 'weight' ? weightColumn(input.plan) : 'time', by > 0 ? 'down' : 'up'];
	const supposed = { ...input, book, aside };
	return {
		input: supposed,
		price: SLIPPED,
		caution: `The ${column}s fit the logs only when each is moved ${by > 0 ? 'up' : 'down'} one row. Possible cause: column ${name} of the cart log slipped one row ${way}. The factors use it moved back. Check the cart log.`,
		undo: useWeights(supposed),
	};
}
