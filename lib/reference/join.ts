import { rollup } from 'd3-array';
import { cartSteps, type LoadBook, TICKETS } from '../model/index.ts';

const { most_offloads: MOST_OFFLOADS, away_s: AWAY_S, near_rel: NEAR, agree_rel: AGREE } = TICKETS;

/**
 * The load book with tickets joined to offloads where no truck load's number joins them: in order, by time and by
 * weight, all at one ratio of the scales. Where no ticket has a number of the cart log's, an elevator numbered them, and
 * its numbers say nothing. A ticket that names a combine never passed through the cart.
 */
export function joinTickets(book: LoadBook): LoadBook {
	const offloads: number[] = [];
	for (const { offload } of cartSteps(book)) if (offload >= 0) offloads.push(offload);
	const ticketed = new Set(book.tickets.map((t) => t.truckLoad));
	const loose = offloads.filter((o) => {
		const { truckLoad } = book.offloads[o]!;
		return truckLoad === null || !ticketed.has(truckLoad);
	});
	const foreign = book.offloads.every((o) => o.truckLoad === null || !ticketed.has(o.truckLoad));
	const tickets = book.tickets
		.map((_, i) => i)
		.filter((i) => book.tickets[i]!.combine === null && (foreign || book.tickets[i]!.truckLoad === null))
		.sort((a, b) => {
			const d = book.tickets[a]!.time_s - book.tickets[b]!.time_s;
			return Number.isFinite(d) && d !== 0 ? d : book.tickets[a]!.order - book.tickets[b]!.order;
		});
	if (loose.length === 0 || tickets.length === 0) return book;
	const fits = candidates(book, loose, tickets);
	const best = agreeing(loose.length, tickets.length, fits);
	// One that fits is chance unless it fits nowhere else; with only the order to go by, or numbers of its own, two may be.
	const timed = tickets.every((t) => Number.isFinite(book.tickets[t]!.time_s) && book.tickets[t]!.truckLoad === null);
	const least = !timed ? 3 : fits.length === 1 ? 1 : 2;
	if (best.length < least || best.length < 0.6 * tickets.length) return book;
	const result: LoadBook = {
		dumps: book.dumps,
		offloads: book.offloads.map((o) => ({ ...o })),
		tickets: book.tickets.map((t) => ({ ...t })),
	};
	for (const fit of best) {
		const ticket = result.tickets[tickets[fit.ticket]!]!;
		const name = book.offloads[loose[fit.from]!]!.truckLoad ?? `ticket ${ticket.ticket}`;
		ticket.truckLoad = name;
		for (let j = fit.from; j <= fit.to; j++) result.offloads[loose[j]!]!.truckLoad = name;
	}
	return result;
}

/** One ticket taken as the weight of a run of offloads: all of one truckload's, or some without a number. */
interface Fit {
	ticket: number;
	from: number;
	to: number;
	ratio: number;
}

function candidates(book: LoadBook, loose: readonly number[], tickets: readonly number[]): Fit[] {
	const fits: Fit[] = [];
	const nameOf = (k: number): string | null => book.offloads[loose[k]!]!.truckLoad;
	const rows = rollup(
		loose,
		(all) => all.length,
		(o) => book.offloads[o]!.truckLoad,
	);
	tickets.forEach((t, ticket) => {
		const { net_kg, time_s, timeGrain } = book.tickets[t]!;
		for (let from = 0; from < loose.length; from++) {
			let sum = 0;
			for (let to = from; to < Math.min(loose.length, from + MOST_OFFLOADS); to++) {
				if (nameOf(to) !== nameOf(from)) break;
				const last = book.offloads[loose[to]!]!;
				sum += last.weight_kg;
				if (nameOf(to) !== null && rows.get(nameOf(to)) !== to - from + 1) continue;
				const ratio = net_kg / sum;
				if (Math.abs(ratio - 1) > NEAR) continue;
				const exact = [timeGrain, last.timeGrain].every((g) => g === 'second' || g === 'minute');
				const away_s = time_s - last.time_s;
				if (exact && !(away_s > AWAY_S[0] && away_s < AWAY_S[1])) continue;
				fits.push({ ticket, from, to, ratio });
			}
		}
	});
	return fits;
}

/** The largest set of tickets that fit in order at one ratio, with the least misfit of it. */
function agreeing(offloads: number, tickets: number, fits: readonly Fit[]): Fit[] {
	let best: Fit[] = [];
	let score = 0;
	const tried = new Set<number>();
	for (const { ratio } of fits) {
		const key = Math.round(ratio / (AGREE / 4));
		if (tried.has(key)) continue;
		tried.add(key);
		const sequence = inOrder(offloads, tickets, fits, ratio);
		if (sequence.score > score + 1e-9) {
			score = sequence.score;
			best = sequence.fits;
		}
	}
	return best;
}

/** Dynamic programming over tickets and offloads, both in order. */
function inOrder(
	offloads: number,
	tickets: number,
	fits: readonly Fit[],
	ratio: number,
): { score: number; fits: Fit[] } {
	const worth = (f: Fit): number => {
		const miss = (f.ratio / ratio - 1) / AGREE;
		return 1 - 0.1 * miss * miss;
	};
	const byTicket: Fit[][] = Array.from({ length: tickets }, () => []);
	for (const f of fits) if (Math.abs(f.ratio / ratio - 1) < 2 * AGREE) byTicket[f.ticket]!.push(f);
	// best[j]: the best score of the tickets so far with offloads before j.
	let best = new Float64Array(offloads + 1);
	let sequences: Fit[][] = Array.from({ length: offloads + 1 }, () => []);
	for (let t = 0; t < tickets; t++) {
		const next = best.slice();
		const nextSequences = [...sequences];
		for (const f of byTicket[t]!) {
			const s = best[f.from]! + worth(f);
			if (s > next[f.to + 1]!) {
				next[f.to + 1] = s;
				nextSequences[f.to + 1] = [...sequences[f.from]!, f];
			}
		}
		for (let j = 1; j <= offloads; j++) {
			if (next[j - 1]! > next[j]!) {
				next[j] = next[j - 1]!;
				nextSequences[j] = nextSequences[j - 1]!;
			}
		}
		best = next;
		sequences = nextSequences;
	}
	return { score: best[offloads]!, fits: sequences[offloads]! };
}
