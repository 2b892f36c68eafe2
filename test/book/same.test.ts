import { describe, expect, it } from 'vitest';
import { append, type Book, emptyBook, type Kind, running, type Value } from '../../lib/book/index.ts';
import { solveFactors } from '../../lib/factor/index.ts';
import { CART } from '../../lib/model/index.ts';
import { type Made, make } from '../factor/make.ts';

/** A made field whose fills came in evenly, its weights read on one cart: A's dump, B's dump, all of it to a truck. */
function field(seed: number, reference: Made['reference'] | null = null): Made {
	const made = make({
		seed,
		fills: 10,
		factor: (c) => (c === 0 ? 0.96 : 1.03),
		reading_kg: 0,
		...(reference && { reference }),
	});
	const { account, match, records } = made;
	for (const u of match.unloadings) {
		const first = u.combine * (records.n / 2);
		for (let i = first + u.from; i < first + u.to; i++) {
			account.account_kg[i] = u.account_kg / (u.to - u.from);
			account.monitor_kg[i] = account.account_kg[i]!;
			records.flow_kg_s[i] = account.account_kg[i]! / records.interval_s[i]!;
		}
	}
	const [own, other] = [0, 1].map((c) =>
		match.weighings.filter((w) => match.unloadings[w.unloadings[0]!]!.combine === c),
	);
	const u = (gross: number) => Math.hypot(CART.reading_a_kg, CART.reading_b_rel * gross);
	own!.forEach((a, i) => {
		const b = other![i]!;
		const [x, y] = [a.weight_kg, a.weight_kg + b.weight_kg];
		Object.assign(a, { readings: [3 * i, 3 * i + 1], u_gross_kg: [u(0), u(x)] });
		Object.assign(b, { readings: [3 * i + 1, 3 * i + 2], u_gross_kg: [u(x), u(y)] });
	});
	return made;
}

/** The same weights and what the monitors showed, as typed on the tablet. */
function typed(made: Made, limit_pct: number): Book {
	let book = emptyBook;
	let count = 0;
	const put = (kind: Kind, thing: string, set: { [key: string]: Value }) => {
		const id = `x.${String(++count).padStart(4, '0')}`;
		book = append(book, { id, by: 'x', at_s: count, thing, kind, act: 'add', after: [], set, why: '' });
	};
	put('field', 'f', { name: 'Field', season: 2026, crop: 'corn' });
	put('cart', 'c', { name: 'Cart', limit_pct });
	for (const name of made.records.combines) put('combine', name, { name });
	const { unloadings, weighings } = made.match;
	const order = weighings.map((_, w) => w).sort((a, b) => unloadings[a]!.end_s - unloadings[b]!.end_s || a - b);
	order.forEach((w, k) => {
		const u = unloadings[w]!;
		const combine = made.records.combines[u.combine]!;
		const { weight_kg } = weighings[w]!;
		put('dump', `d${w}`, { time_s: u.end_s, cart: 'c', field: 'f', combines: [combine], net_kg: weight_kg });
		put('reading', `r${w}`, {
			time_s: u.end_s,
			combine,
			dump: `d${w}`,
			field: 'f',
			how: 'load',
			value: u.account_kg,
			unit: 'kg',
		});
		if (k % 2 === 1) put('offload', `o${w}`, { time_s: u.end_s, cart: 'c', load: null, reading_kg: 0 });
	});
	return book;
}

describe('the tablet and the report', () => {
	it.each([1, 2, 3, 4])('give one factor and one interval for the same weights (seed %i)', (seed) => {
		const reference = { ratio: 1, u_rel: 0.01 / Math.sqrt(3), limit_rel: 0.01, df: 0, source: 'limit' as const, n: 0 };
		const made = field(seed, reference as Made['reference']);
		const { factors: running_ } = running(typed(made, 1), { field: 'f', season: 2026 });
		// Relative errors count from the match's factors.
		const match = { ...made.match, factors: running_.map((r) => r.value!) };
		const { factors } = solveFactors({ ...made, match, seams: [], jumps: [] }, { step: () => {} } as never);
		for (const [c, f] of factors.entries()) {
			const r = running_[c]!;
			expect(f.form).toBe('constant');
			expect(r.value! / f.value).toBeCloseTo(1, 5);
			for (const end of [0, 1] as const) {
				expect(Math.abs(r.interval![end] - f.interval[end])).toBeLessThan(0.005 * (f.interval[1] - f.interval[0]));
				expect(Math.abs(r.next![end] - f.next_interval[end])).toBeLessThan(
					0.005 * (f.next_interval[1] - f.next_interval[0]),
				);
			}
		}
	});
});
