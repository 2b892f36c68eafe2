/** Dumps entered as what stood in the cart after them, not as what each added. */
import { added_kg, cartSteps, caution, type Dump, type LoadBook, type Note } from '../../model/index.ts';

/** An offload that comes this near to a figure is taken to be the same grain, relative. */
const SAME = 0.03;
/** One load may look so by chance; two in a row do not. */
const LEAST_LOADS = 2;

/** A cart load: the dumps since the one before, and what the cart then gave to a truck, NaN where it gave nothing yet. */
interface CartLoad {
	dumps: Dump[];
	offload_kg: number;
}

/**
 * Replaces weights that are the cart's running display by what each dump added. What an emptied cart gives to a truck
 * tells the two apart: it comes to the sum of its dumps, or else to the last dump's figure alone. Where the truck was
 * full first, the rest stands in the next figures. The display may have been noted for a part of the day only.
 */
export function netOfReadings(book: LoadBook, file: string, column: string, notes: Note[]): void {
	const loads = cartLoads(book);
	const kinds = loads.map(kindOf);
	const open = (some: typeof kinds) => !some.includes('sum');
	// What stands before or after, too, if nothing there says otherwise.
	const first = open(kinds.slice(0, kinds.indexOf('last'))) ? 0 : kinds.indexOf('last');
	const last = open(kinds.slice(kinds.lastIndexOf('last') + 1)) ? kinds.length - 1 : kinds.lastIndexOf('last');
	const run = kinds.slice(first, last + 1);
	const count = (of: (typeof kinds)[number]) => run.filter((kind) => kind === of).length;
	if (count('sum') > 0 || count('last') < LEAST_LOADS) return;
	// A figure may be mistyped or missing: some loads come to neither.
	if (count('neither') >= count('last')) return;
	const rows: Dump[] = [];
	let rest_kg = 0;
	for (const { dumps, offload_kg } of loads.slice(first, last + 1)) {
		const shown_kg = dumps.map((dump) => dump.weight_kg);
		added_kg(shown_kg, rest_kg).forEach((kg, i) => {
			dumps[i]!.weight_kg = kg;
		});
		rows.push(...dumps);
		const left_kg = shown_kg.at(-1)! - offload_kg;
		rest_kg = left_kg > SAME * offload_kg ? left_kg : 0;
	}
	notes.push(
		caution(
			`${file}: column ${column} of dumps ${rows[0]!.id} to ${rows.at(-1)!.id} holds what was in the cart, not what each dump added: offloads match the last dump's figure, not the sum. The differences are used. Check the column.`,
		),
	);
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

/** What a load's offload comes to: its dumps' sum, their last figure, at most that figure, or neither. */
function kindOf({ dumps, offload_kg }: CartLoad): 'sum' | 'last' | 'part' | 'neither' {
	const sum_kg = dumps.reduce((kg, dump) => kg + dump.weight_kg, 0);
	const last_kg = dumps.at(-1)!.weight_kg;
	const same = (kg: number) => Math.abs(kg / offload_kg - 1) < SAME;
	const rising = dumps.every((dump, i) => i === 0 || dump.weight_kg > dumps[i - 1]!.weight_kg);
	if (dumps.length > 1 && same(sum_kg)) return 'sum';
	if (!rising || last_kg < (1 - SAME) * offload_kg) return 'neither';
	return dumps.length > 1 && same(last_kg) ? 'last' : 'part';
}
