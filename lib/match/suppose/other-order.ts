import { cartSteps, type Dump, type Offload } from '../../model/index.ts';
import type { Explained } from '../explained.ts';
import { isTimed } from '../problem/problem.ts';
import type { Supposition } from './supposition.ts';

/** Prior costs of times that were not those of the dumps, and of a list with the newest row first, nats. */
const TIMES = 7;
const NEWEST = 4;
/** With fewer dumps any order would do. */
const ENOUGH = 5;

/** The field with the dumps in the order of their times, but no times. */
export function withoutTimes(plain: Explained): Supposition[] {
	const { book } = plain.input;
	if (!isTimed(plain.problem)) return [];
	const steps = cartSteps(book).map((s) => (s.dump >= 0 ? book.dumps[s.dump]! : book.offloads[s.offload]!));
	const place = new Map(steps.map((row, i) => [row, i]));
	return changed(
		plain,
		(row) => ({ ...row, order: place.get(row)!, time_s: Number.NaN, timeGrain: 'none' }),
		TIMES,
		'The weights fit the logs only where the times in the cart log are set aside: only the order of its rows is used. Perhaps they are times of entry, or of the truck. Check them, and note the time when each dump ends.',
	);
}

/** The field with the rows of the cart log from last to first, where no row has a time of day. */
export function newestFirst(plain: Explained): Supposition[] {
	if (isTimed(plain.problem)) return [];
	return changed(
		plain,
		(row) => ({ ...row, order: -row.order }),
		NEWEST,
		'The weights fit the logs only from the last row of the cart log to the first: the newest row seems to stand first. Check the order, and note the time of each dump.',
	);
}

function changed(
	{ input, problem }: Explained,
	change: <T extends Dump | Offload>(row: T) => T,
	price: number,
	caution: string,
): Supposition[] {
	const { book, plan } = input;
	if (problem.observations.length < ENOUGH || plan.pins.clock_offset_s !== undefined) return [];
	const other = { ...book, dumps: book.dumps.map(change), offloads: book.offloads.map(change) };
	return [{ input: { ...input, book: other }, price, caution, undo() {} }];
}
