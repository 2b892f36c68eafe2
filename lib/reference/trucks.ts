import {
	type CartStep,
	type DumpFate,
	type LoadBook,
	nextOffload,
	stepsByCart,
	type TruckLoad,
} from '../model/index.ts';
import { massInBoth } from '../units/index.ts';
import { sameWeight } from './cart-sides.ts';
import { joinTickets } from './join.ts';

/** Cart weights for one truckload: dumps in, offloads out. */
interface Tally {
	offloads_kg: number;
	dumps_kg: number;
	dumps: number[];
	/** Truckloads that share a cartful with it. */
	shared: Set<string>;
	/** Grain left in the cart after its last offload, kg. */
	left_kg: number;
}

/**
 * Every truckload three ways: the cart's offloads, the dumps that filled the cart for it, and its ticket. Dumps and
 * offloads of the same grain are independent weighings by one scale, so their difference shows a dump that was saved
 * wrong, twice or not at all. Grain left in the cart goes on the next truck, the oldest first.
 *
 * @param fates - what became of each dump, in the load book's order: for naming dumps that may explain a difference
 * @returns truckloads in the order of the book, tickets without any cart weight last; weights as the cart indicated
 */
export function truckLoads(given: LoadBook, fates: readonly DumpFate[]): TruckLoad[] {
	const book = joinTickets(given);
	const tallies = new Map<string, Tally>();
	for (const steps of stepsByCart(book)) walk(book, steps, fates, tallies);
	const tickets = new Map<string, { kg: number; straight: boolean }>();
	for (const t of book.tickets) {
		const name = t.truckLoad ?? `ticket ${t.ticket}`;
		const found = tickets.get(name);
		tickets.set(name, { kg: (found?.kg ?? 0) + t.net_kg, straight: (found?.straight ?? false) || t.combine !== null });
	}
	const known = book.dumps.length > 0;
	const rows: TruckLoad[] = [...tallies].map(([name, tally]) => {
		const ticket = tickets.get(name);
		tickets.delete(name);
		const difference_kg = known ? tally.offloads_kg - tally.dumps_kg : null;
		return {
			truck_load: name,
			offloads_kg: tally.offloads_kg,
			dumps_kg: known ? tally.dumps_kg : null,
			ticket_kg: ticket?.kg ?? null,
			difference_kg,
			...remarkOf(tally, difference_kg, ticket?.straight ?? false, book, fates),
			dumps: tally.dumps.map((d) => book.dumps[d]!.id),
		};
	});
	for (const [name, { kg, straight }] of tickets) {
		const remark = straight
			? 'went straight from a combine into the truck'
			: 'no offload from the cart is entered for it';
		const none = { offloads_kg: null, dumps_kg: null, difference_kg: null, dumps: [] };
		rows.push({ truck_load: name, ...none, ticket_kg: kg, remark: known || straight ? remark : null });
	}
	return rows;
}

/** Follows one cart's level and adds to the tally of each truckload that it filled. */
function walk(
	book: LoadBook,
	steps: readonly CartStep[],
	fates: readonly DumpFate[],
	tallies: Map<string, Tally>,
): void {
	let level = 0;
	let dumps: number[] = [];
	let open: Tally[] = [];
	let names: string[] = [];
	steps.forEach(({ dump, offload }, k) => {
		if (dump >= 0) {
			dumps.push(dump);
			level += book.dumps[dump]!.weight_kg;
			return;
		}
		const { truckLoad, id, weight_kg } = book.offloads[offload]!;
		const name = truckLoad ?? id;
		const tally = tallies.get(name) ?? { offloads_kg: 0, dumps_kg: 0, dumps: [], shared: new Set(), left_kg: 0 };
		tallies.set(name, tally);
		tally.offloads_kg += weight_kg;
		for (const d of dumps) if (!tally.dumps.includes(d)) tally.dumps.push(d);
		if (!names.includes(name)) {
			names.forEach((other, j) => {
				tally.shared.add(other);
				open[j]!.shared.add(name);
			});
			names.push(name);
			open.push(tally);
		}
		const rest = level - weight_kg;
		const emptied = rest <= sameWeight(level) || wasEmptied(book, { steps, at: k, rest, dumps }, fates);
		// If the cart was emptied, all dumps since it was last empty are in this load; if not, the oldest of them are.
		tally.dumps_kg += emptied ? level : weight_kg;
		tally.left_kg = emptied ? 0 : rest;
		level = emptied ? 0 : rest;
		if (emptied) {
			dumps = [];
			open = [];
			names = [];
		}
	});
}

/**
 * True where the cart was emptied although its dumps add up to more than the offload: the next offload fits its own
 * dumps alone and not with a remainder or, if that cannot be checked, one of the dumps before it is set aside.
 */
function wasEmptied(
	book: LoadBook,
	{ steps, at, rest, dumps }: { steps: readonly CartStep[]; at: number; rest: number; dumps: readonly number[] },
	fates: readonly DumpFate[],
): boolean {
	const next = nextOffload(book, steps, at);
	if (next !== null) {
		const { dumped_kg, offload_kg } = next;
		// Two offloads in a row: the second one found grain in the cart.
		if (dumped_kg === 0) return false;
		const alone = Math.abs(dumped_kg - offload_kg);
		const together = Math.abs(dumped_kg + rest - offload_kg);
		if (Math.min(alone, together) <= sameWeight(dumped_kg + rest)) return alone < together;
	}
	return dumps.some((d) => fates[d]?.status === 'aside');
}

/** Possible cause of a difference, and the weight that it gives for a single dump that was set aside. */
function remarkOf(
	tally: Tally,
	difference_kg: number | null,
	straight: boolean,
	book: LoadBook,
	fates: readonly DumpFate[],
): Pick<TruckLoad, 'remark' | 'repaired'> {
	const parts: string[] = [];
	let repaired: TruckLoad['repaired'];
	if (straight) parts.push('also took grain straight from a combine');
	if (tally.shared.size > 0)
		parts.push(`the cart was not emptied between this load and ${[...tally.shared].join(', ')}`);
	if (tally.left_kg > 0) parts.push(`${massInBoth(tally.left_kg)} stayed in the cart`);
	const odd = tally.dumps.filter((d) => fates[d]?.status === 'aside');
	const agrees = difference_kg !== null && Math.abs(difference_kg) <= sameWeight(tally.dumps_kg);
	const ids = odd.filter((d) => fates[d]?.fill !== null).map((d) => book.dumps[d]!.id);
	if (agrees && ids.length > 0 && tally.left_kg === 0)
		parts.push(
			`agrees with its dumps, so no wrong weight was entered for ${ids.join(' and ')}: check the log, the tank and the scale`,
		);
	if (difference_kg !== null && !agrees) {
		const [only] = odd.length === 1 ? odd : [];
		const { id, weight_kg } = only === undefined ? { id: '', weight_kg: 0 } : book.dumps[only]!;
		const should_kg = weight_kg + difference_kg;
		if (only === undefined) {
			parts.push(
				difference_kg > 0
					? `${massInBoth(difference_kg)} more than its dumps: a dump may be missing or too low`
					: `${massInBoth(-difference_kg)} less than its dumps: a dump may be too high or entered twice`,
			);
		} else if (Math.abs(should_kg) <= sameWeight(tally.dumps_kg)) parts.push(`the dumps fit without ${id}`);
		else if (should_kg > 0) {
			repaired = { dump: id, cart_kg: should_kg, used: fates[only]?.byTruck === true };
			parts.push(`dump ${id} was about ${massInBoth(should_kg)} by this truckload`);
		}
	}
	return { remark: parts.length > 0 ? parts.join('; ') : null, ...(repaired ? { repaired } : {}) };
}
