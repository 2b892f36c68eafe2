import { describe, expect, it } from 'vitest';
import { type Explained, explain } from '../../../lib/match/explained.ts';
import { lastingChange } from '../../../lib/match/suppose/lastingchange.ts';
import { overRatios } from '../../../lib/match/suppose/ratios.ts';
import { strained, suppositions } from '../../../lib/match/suppose/suppose.ts';
import type { Dump, Match, Records, SeamJump } from '../../../lib/model/index.ts';
import { POUND_KG } from '../../../lib/units/index.ts';
import { plainMatch } from '../../plain.ts';
import { bookOf, inputOf, NOON, offload, recordsOf } from '../hand.ts';
import { begun, cart, twoDays, works } from '../two.ts';

const records = recordsOf(works(true));
const rows = cart(records, 0, true).map((r) => r.dump);
const untimed = (list: Dump[]) => list.map((d) => ({ ...d, time_s: Number.NaN, timeGrain: 'none' as const }));
/** The field explained as it is written. */
const plainly = (dumps: Dump[], r: Records = records, seams = {}): Explained =>
	explain(inputOf(r, bookOf(dumps), seams), null, () => {})[0]!;
const plain = plainly(rows);

describe('a lasting change of the cart’s scale', () => {
	const FROM = 9;
	const lost = rows.map((d, i) => (i < FROM ? d : { ...d, weight_kg: 0.75 * d.weight_kg }));
	const [scale] = lastingChange(plainly(lost));

	it('is found with its moment and share, and taken out of the weights', () => {
		scale!.input.book.dumps.forEach((d, i) => {
			if (i < FROM) expect(d.weight_kg).toBe(lost[i]!.weight_kg);
			else expect(d.weight_kg / rows[i]!.weight_kg).toBeCloseTo(1, 1);
		});
		expect(scale!.open).toMatch(/^The cart's scale changed within the day/);
	});

	it('costs its moment, and once in so many hours of work', () => {
		// 19 moments; 8,000 s of work, and a change in 400 h.
		expect(scale!.price).toBeCloseTo(Math.log(19) - Math.log(8000 / 3600 / 400), 9);
	});

	it('is put back into what was weighed after it', () => {
		const share = lost[FROM]!.weight_kg / scale!.input.book.dumps[FROM]!.weight_kg;
		const weighing = (dump: number, byCart = true) =>
			({ dumps: [dump], byCart, weight_kg: 1000, reference_kg: 1100 }) as Match['weighings'][0];
		const match = plainMatch({ weighings: [weighing(FROM - 1), weighing(FROM), weighing(FROM, false)] });
		scale!.undo(match, scale!.input);
		expect(match.scaleChanged).toBe(true);
		expect(match.weighings.map((w) => [w.weight_kg, w.reference_kg])).toEqual([
			[1000, 1100],
			[1000 * share, 1100 * share],
			[1000, 1100],
		]);
	});

	it('is none where nothing or little changed, or no dump has a time', () => {
		expect(lastingChange(plain)).toEqual([]);
		const little = rows.map((d, i) => (i < FROM ? d : { ...d, weight_kg: 0.977 * d.weight_kg }));
		expect(lastingChange(plainly(little))).toEqual([]);
		expect(lastingChange(plainly(untimed(lost)))).toEqual([]);
	});
});

describe('a lasting change of one monitor', () => {
	const HALF = 4100;
	const [a, b] = works(true);
	const changed = recordsOf([{ ...a!, flow: (t) => (t > HALF ? 1.3 : 1) * a!.flow(t) }, b!]);
	const seam = (combineA: number) => ({ combineA, combineB: 1, length_m: 100 }) as SeamJump;
	const found = lastingChange(plainly(rows, changed, { seams: [seam(0), seam(1)] }));
	const monitor = found.find((s) => s.open!.includes('monitor of combine A'))!;

	it('is found, and taken out of its log from about then on', () => {
		const { account_kg } = monitor.input.account;
		const right = inputOf(records, bookOf(rows)).account.account_kg;
		// Between which of its dumps is seen, not where.
		for (const t of [100, 3000, 5500, 7900]) expect(account_kg[t]! / right[t]!).toBeCloseTo(1, 1);
		for (let i = 8000; i < changed.n; i += 1000) expect(account_kg[i]).toBe(right[i]);
		// A seam before and after says different things.
		expect(monitor.input.seams).toEqual([seam(1)]);
	});

	it('is put back into what that combine recorded', () => {
		const match = plainMatch({
			factors: [1.05, 0.94],
			unloadings: [0, 1].map((combine) => ({ combine, from: 0, to: 7000, account_kg: 1 }) as Match['unloadings'][0]),
		});
		monitor.undo(match, monitor.input);
		const sum = (kg: Float64Array, from: number, to: number) => kg.slice(from, to).reduce((x, y) => x + y, 0);
		const given = inputOf(changed, bookOf(rows)).account.account_kg;
		expect(match.unloadings[0]!.account_kg).toBeCloseTo(sum(given, 0, 7000), 3);
		expect(match.unloadings[1]!.account_kg).toBe(1);
		// The same corrected mass of the whole log.
		const supposed = sum(monitor.input.account.account_kg, 0, 8000);
		expect(match.factors[0]! * sum(given, 0, 8000)).toBeCloseTo(1.05 * supposed, 3);
		expect(match.factors[1]).toBe(0.94);
	});
});

describe('two lasting changes of one monitor', () => {
	const DAY = 86_400;
	const [start, end] = [NOON + 4100, NOON + DAY + 4100];
	const right = twoDays();
	const changed = twoDays();
	changed.time_s.forEach((t, i) => {
		if (changed.combine[i] === 0 && t > start && t <= end) changed.flow_kg_s[i]! *= 1.15;
	});
	const again = rows.map((d, i) => ({ ...d, id: `E${i}`, order: rows.length + i, time_s: d.time_s + DAY }));
	const both = bookOf([...rows, ...again]);
	const given = inputOf(changed, both).account.account_kg;
	const two = lastingChange(explain(inputOf(changed, both), null, () => {})[0]!).at(-1)!;

	it('are found together, up and down again, and both taken out of its log', () => {
		for (const t of [100, 3000, 7000, DAY + 1000, DAY + 7000]) {
			const i = right.time_s.indexOf(NOON + t);
			expect(two.input.account.account_kg[i]! / right.flow_kg_s[i]!).toBeCloseTo(1, 1);
		}
		expect(two.open).toMatch(/^The monitor of combine A changed within the day/);
		// 38 moments each; 94,400 s of work, and a change in 100 h, at most in half of all fields.
		expect(two.price).toBeCloseTo(2 * (Math.log(38) - Math.log(94_400 / 3600 / 100)), 9);
	});

	it('are put back into what that combine recorded', () => {
		const unloading = { combine: 0, from: 0, to: 7000, account_kg: 1 } as Match['unloadings'][0];
		const match = plainMatch({ factors: [1.05, 0.94], unloadings: [unloading] });
		two.undo(match, two.input);
		const ofA = (kg: Float64Array, to = changed.n) =>
			kg.reduce((x, y, i) => x + (changed.combine[i] === 0 && i < to ? y : 0), 0);
		expect(match.unloadings[0]!.account_kg).toBeCloseTo(ofA(given, 7000), 3);
		expect(match.factors[0]! * ofA(given)).toBeCloseTo(1.05 * ofA(two.input.account.account_kg), 3);
	});
});

describe('ratios of two factors where weights alone tell', () => {
	const mute = recordsOf(works(false));
	const bare = untimed(cart(mute, 0, false).map((r) => r.dump)).slice(0, 8);

	it('are stood for by three, as far apart and as likely as the nodes of a normal distribution', () => {
		const list = overRatios(plainly(bare, mute));
		const logs = list.map((e) => Math.log(e.problem.priors.ratios[0]!.ratio));
		expect(list.map(({ problem: { priors } }) => [priors.ratios[0]!.a, priors.ratios[0]!.b])).toEqual([
			[0, 1],
			[0, 1],
			[0, 1],
		]);
		expect(logs[2]! - logs[1]!).toBeCloseTo(logs[1]! - logs[0]!, 9);
		expect(logs[2]!).toBeGreaterThan(logs[0]!);
		// Gauss–Hermite: 1/6, 2/3, 1/6.
		const share = list.map((e) => Math.exp(list[1]!.cost - e.cost));
		expect(share[0]).toBeCloseTo(1 / 4, 9);
		expect(share[2]).toBeCloseTo(1 / 4, 9);
		for (const e of list) {
			const { factor } = e.solved;
			expect(Math.log(factor[1]! / factor[0]!)).toBeCloseTo(Math.log(e.problem.priors.ratios[0]!.ratio), 1);
		}
	});

	it('are no further apart than seams leave them', () => {
		const seams = [{ combineA: 0, combineB: 1, length_m: 1000, log_jump: Math.log(0.9), u_log: 0.005 }] as never;
		const list = overRatios(plainly(bare, mute, { seams }));
		const logs = list.map((e) => Math.log(e.problem.priors.ratios[0]!.ratio));
		// Twice the seam's own uncertainty, and 1 % that seams may not carry.
		const u = Math.hypot(2 * 0.005, 0.01);
		expect((logs[2]! - logs[0]!) / (2 * Math.sqrt(3))).toBeLessThan(1.2 * u);
		expect(Math.abs(logs[1]! - Math.log(0.9))).toBeLessThan(3 * u);
	});

	it.each<[string, () => Explained]>([
		['names are noted', () => plainly(untimed(cart(mute, 0, true).map((r) => r.dump)), mute)],
		[
			'dumps have times',
			() =>
				plainly(
					cart(mute, 0, false).map((r) => r.dump),
					mute,
				),
		],
		['the auger shows when tanks were emptied', () => plainly(untimed(rows).map((d) => ({ ...d, combines: [] })))],
		[
			'there is one combine',
			() => plainly(untimed(rows.filter((d) => d.combines[0] === 'A')), recordsOf([works(false)[0]!])),
		],
	])('are as they were found where %s', (_, make) => {
		const e = make();
		expect(overRatios(e)).toEqual([e]);
	});
});

describe('a field that fits badly as written', () => {
	const { right, dumps } = begun();
	const exchange = (d: Dump) => ({ ...d, combines: [d.combines[0] === 'A' ? 'B' : 'A'] });
	const pounds = plainly(
		dumps.map((d) => ({ ...d, weight_kg: d.weight_kg / POUND_KG })),
		right,
	);
	const badly = (change: (d: Dump, i: number) => Dump) => strained(plainly(dumps.map(change), right));

	it('is worth a supposition: names or units that do not fit, hardly any of the grain', () => {
		expect(badly((d, i) => (i % 5 === 0 ? exchange(d) : d))).toBe(true);
		expect(strained(pounds)).toBe(true);
		expect(strained(plainly(dumps.filter((_, i) => i % 3 === 0)))).toBe(true);
	});

	it('is worth one where offloads show what dumps lack', () => {
		const short = dumps.map((d) => ({ ...d, weight_kg: d.weight_kg - 250 }));
		const offloads = dumps.flatMap((d, i) =>
			i % 2 ? [offload(`L${i}`, 0, d.time_s - NOON + 50, d.weight_kg + dumps[i - 1]!.weight_kg)] : [],
		);
		const all = [...short, ...offloads].sort((x, y) => x.time_s - y.time_s);
		all.forEach((row, i) => {
			row.order = i;
		});
		expect(strained(explain(inputOf(right, bookOf(short, offloads)), null, () => {})[0]!)).toBe(true);
	});

	it('is not where all fits, or nothing was weighed', () => {
		expect(badly((d) => d)).toBe(false);
		expect(strained({ ...plain, problem: { ...plain.problem, observations: [] } })).toBe(false);
	});

	it('is solved under the two that a quick search finds likeliest', () => {
		const units = suppositions(pounds);
		expect(units.length).toBeLessThanOrEqual(2);
		expect(units[0]!.caution).toContain('are in lb');
	});
});
