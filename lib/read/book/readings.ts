/** Dumps entered as what stood in the cart after them, not as what each added. */
import { cartSteps, type Dump, type LoadBook, type Note } from '../../model/index.ts';

/** An offload that comes this near to a figure is taken to be the same grain, relative. */
const SAME = 0.03;
/** One load may look so by chance; two in a row do not. */
const LEAST_LOADS = 2;

/** A cart load: the dumps since the one before, and what the cart then gave to trucks. */
interface CartLoad {
	dumps: Dump[];
	offload_kg: number;
}

/**
 * Replaces weights that are the cart's running display by what each dump added. What a cart gives to a truck tells the
 * two apart: it comes to the sum of the dumps, or else to the last dump's figure alone. Loads of one dump tell nothing,
 * and need nothing. The display may have been noted for a part of the day only.
 */
export function netOfReadings(book: LoadBook, file: string, column: string, notes: Note[]): void {
	const loads = cartLoads(book).filter((load) => load.dumps.length > 1);
	const running = loads.map(isRunning);
	const first = running.indexOf(true);
	const last = running.lastIndexOf(true);
	const run = loads.slice(first, last + 1);
	if (first < 0 || run.length < LEAST_LOADS || running.slice(first, last + 1).includes(false)) return;
	// Dumps still in the cart when the log ends.
	const rest = last === loads.length - 2 && Number.isNaN(loads[last + 1]!.offload_kg) ? [loads[last + 1]!] : [];
	const rows: Dump[] = [];
	for (const { dumps } of [...run, ...rest.filter((load) => rises(load.dumps))]) {
		for (let i = dumps.length - 1; i > 0; i--) dumps[i]!.weight_kg -= dumps[i - 1]!.weight_kg;
		rows.push(...dumps);
	}
	notes.push({
		level: 'caution',
		text: `${file}: column ${column} of dumps ${rows[0]!.id} to ${rows.at(-1)!.id} holds what stood in the cart, not what each dump added: each offload comes to the last dump's figure, not to the sum. The differences are used. Check the column.`,
	});
}

function cartLoads(book: LoadBook): CartLoad[] {
	const loads: CartLoad[] = [];
	let open: CartLoad | null = null;
	for (const { dump, offload } of cartSteps(book)) {
		if (dump >= 0) {
			if (open === null || !Number.isNaN(open.offload_kg)) {
				open = { dumps: [], offload_kg: Number.NaN };
				loads.push(open);
			}
			open.dumps.push(book.dumps[dump]!);
		} else if (open !== null) {
			const before = Number.isNaN(open.offload_kg) ? 0 : open.offload_kg;
			open.offload_kg = before + book.offloads[offload]!.weight_kg;
		}
	}
	return loads;
}

const rises = (dumps: readonly Dump[]): boolean =>
	dumps.every((dump, i) => i === 0 || dump.weight_kg > dumps[i - 1]!.weight_kg);

function isRunning({ dumps, offload_kg }: CartLoad): boolean {
	const sum = dumps.reduce((kg, dump) => kg + dump.weight_kg, 0);
	const same = (kg: number) => Math.abs(kg / offload_kg - 1) < SAME;
	return rises(dumps) && same(dumps.at(-1)!.weight_kg) && !same(sum);
}
