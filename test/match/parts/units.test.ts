import { describe, expect, it } from 'vitest';
import type { Explained } from '../../../lib/match/explained.ts';
import { prepare } from '../../../lib/match/problem/prepare.ts';
import { jumpOf, otherUnits, ratio, weightUnits } from '../../../lib/match/suppose/other-units.ts';
import { byTimes, intervalsContradict } from '../../../lib/match/suppose/wrong-intervals.ts';
import type { SeamJump } from '../../../lib/model/index.ts';
import { POUND_KG } from '../../../lib/units/index.ts';
import { plainMatch } from '../../plain.ts';
import { bookOf, dump, inputOf, NOON, offload, planOf, recordsOf } from '../hand.ts';

/** Two combines at 8 and 9 kg/s for 1,600 s; A's flow is so many times that in its second half. */
const recordsWith = (change = 1) =>
	recordsOf([
		{ name: 'A', from_s: 0, to_s: 1600, flow: (t) => (t > 800 ? 8 * change : 8) },
		{ name: 'B', from_s: 0, to_s: 1600, flow: () => 9 },
	]);
const rows = (unit = 1) =>
	bookOf(
		['A', 'B', 'A'].map((name, i) => ({
			...dump(`D${i}`, i, Number.NaN, (6000 + 100 * i) / unit, { combines: [name] }),
			timeGrain: 'none' as const,
		})),
		[offload('L', 3, 1600, 18_300 / unit)],
	);
const seam = { combineA: 0, combineB: 1, length_m: 100, log_jump: 0.1, u_log: 0.01 } as SeamJump;
function supposed(unit = 1, change = 1) {
	const input = inputOf(recordsWith(change), rows(unit), { seams: [seam] });
	return otherUnits({ input, problem: prepare(input).problem, offset: { at_s: 0 } } as Explained);
}
const named = (list: ReturnType<typeof supposed>, text: RegExp) => list.filter((s) => text.test(s.caution!));

it('units of weights are by their kilograms', () => {
	const sizes = Object.fromEntries(weightUnits(25.401).map((u) => [u.name, u.size]));
	expect(sizes).toEqual({
		lb: 0.453_592_37,
		bushels: 25.401,
		t: 1000,
		'US tons': 907.184_74,
		hundredweight: 45.359_237,
		'kg read as lb': 1 / 0.453_592_37,
	});
	expect([0.453_592, 2.2046, 25.401, 907.18].map(ratio)).toEqual(['0.454', '2.20', '25.4', '907']);
});

describe('weights in another unit', () => {
	const list = supposed(POUND_KG);
	const [pounds] = named(list, /^The weights fit .* are in lb\./);

	it('are brought to kilograms, dumps and offloads', () => {
		const { dumps, offloads } = pounds!.input.book;
		[6000, 6100, 6200].forEach((kg, i) => {
			expect(dumps[i]!.weight_kg).toBeCloseTo(kg, 6);
		});
		expect(offloads[0]!.weight_kg).toBeCloseTo(18_300, 6);
		// Of three weights; the cart was checked by tickets, which would have to be wrong alike.
		expect(pounds!.price).toBeCloseTo(2 * 5 - 3 * Math.log(POUND_KG), 9);
		expect(pounds!.unit).toBe(true);
	});

	it('are only those in which a dump can be', () => {
		expect(named(list, /^The weights fit .* are in (t|US tons|bushels|hundredweight)\./)).toEqual([]);
		expect(named(supposed(1000), /^The weights fit .* are in t\./)).toHaveLength(1);
	});

	it('may be those of one combine’s dumps', () => {
		const [ofA] = named(list, /^The weights of combine A fit .* in lb/);
		expect(ofA!.input.book.dumps.map((d) => Math.round(d.weight_kg))).toEqual([
			6000,
			Math.round(6100 / POUND_KG),
			6200,
		]);
		expect(ofA!.price).toBeCloseTo(5 + Math.log(2) - 2 * Math.log(POUND_KG), 9);
	});

	it('go with the match, for the factors to be solved under', () => {
		const match = plainMatch();
		pounds!.undo(match, pounds!.input);
		expect(match.under).toMatchObject({ weight_kg: POUND_KG, scale: null, book: pounds!.input.book });
	});
});

describe('a log in another unit', () => {
	const list = supposed();
	const sum = (kg: Float64Array, from: number, to: number) => kg.slice(from, to).reduce((a, b) => a + b, 0);

	it('is one combine’s or all, and its seams move by the unit', () => {
		const [a] = named(list, /^The weights fit A's flow only .* in lb\/s/);
		expect(sum(a!.input.account.account_kg, 0, 1600)).toBeCloseTo(8 * 1600 * POUND_KG, 6);
		expect(sum(a!.input.account.account_kg, 1600, 3200)).toBeCloseTo(9 * 1600, 6);
		expect(a!.input.seams[0]!.log_jump).toBeCloseTo(0.1 + Math.log(POUND_KG), 9);
		expect(a!.price).toBeCloseTo(6.5 + Math.log(2), 9);
		const [b] = named(list, /^The weights fit B's flow only .* in lb\/s/);
		expect(b!.input.seams[0]!.log_jump).toBeCloseTo(0.1 - Math.log(POUND_KG), 9);
		const [both] = named(list, /^The weights fit A and B's flow only .* in lb\/s/);
		expect(both!.input.seams[0]!.log_jump).toBeCloseTo(0.1, 9);
		expect(both!.price).toBe(6.5);
	});

	it('goes with the match record by record', () => {
		const [a] = named(list, /^The weights fit A's flow only .* in lb\/s/);
		const match = plainMatch();
		a!.undo(match, a!.input);
		expect(match.under!.weight_kg).toBe(1);
		expect([0, 1599, 1600, 3199].map((i) => match.under!.scale![i])).toEqual([POUND_KG, POUND_KG, 1, 1]);
	});

	it('is not one in which no combine cuts: less than 1 or more than 70 kg/s', () => {
		expect(named(list, /in bu\/s/)).toEqual([]);
		expect(named(list, /in bu\/h/)).toEqual([]);
	});
});

describe('a log whose unit changes', () => {
	const jump = (change: number) => jumpOf(inputOf(recordsWith(change), rows()), 0);

	it('has a lasting jump of its flow per area, larger than crops’', () => {
		const found = jump(1 / POUND_KG)!;
		expect(found.time_s - NOON).toBe(800);
		expect(found.log_ratio).toBeCloseTo(-Math.log(POUND_KG), 6);
		expect(jump(1.3)).toBeNull();
		expect(jump(1)).toBeNull();
		// Too few records on either side.
		const short = recordsOf([{ name: 'A', from_s: 0, to_s: 390, flow: (t) => (t > 195 ? 18 : 8) }]);
		expect(jumpOf(inputOf(short, bookOf([])), 0)).toBeNull();
	});

	it('is in the other unit on one side of it', () => {
		const list = supposed(1, 1 / POUND_KG);
		const [late] = named(list, /A's flow from .* in lb\/s/);
		const { account_kg } = late!.input.account;
		expect([0, 799, 800, 1599, 1600].map((i) => Math.round(account_kg[i]!))).toEqual([8, 8, 8, 8, 9]);
		// What the seam says is of both sides.
		expect(late!.input.seams).toEqual([]);
		expect(late!.price).toBeCloseTo(7.5 + Math.log(2), 9);
		const [early] = named(list, /A's flow until .* in kg\/s read as lb\/s/);
		expect(Math.round(early!.input.account.account_kg[0]!)).toBe(Math.round(8 / POUND_KG));
		expect(early!.input.account.account_kg[1000]).toBeCloseTo(8 / POUND_KG, 6);
	});
});

it('the clock is searched again in the likeliest unit where the weights are more than a tank holds', () => {
	const dumps = ['A', 'B', 'A'].map((name, i) => dump(`D${i}`, i, 600 * i, 13_000, { combines: [name] }));
	const lb = (tank_kg: number) => {
		const plan = planOf(['A', 'B'], {
			combines: Object.fromEntries(['A', 'B'].map((c) => [c, { tank_kg }])) as never,
		});
		const input = inputOf(recordsWith(1), bookOf(dumps), { plan });
		return otherUnits({ input, problem: prepare(input).problem, offset: { at_s: 0 } } as Explained)[0]!;
	};
	expect(lb(9000).offsets).toHaveLength(1);
	expect(lb(14_000).offsets).toBeUndefined();
});

describe('intervals that are not the time between rows', () => {
	/** A's intervals so many times as long, and B's. */
	const logs = (a: number, b: number) => {
		const records = recordsWith();
		records.interval_s.forEach((_, i) => void (records.interval_s[i] = records.combine[i] === 0 ? a : b));
		return inputOf(records, rows(), { seams: [seam] });
	};
	const of = (a: number, b: number) => byTimes({ input: logs(a, b) } as Explained);

	it('are supposed for the logs that have them, one by one and together', () => {
		expect(of(1, 1)).toEqual([]);
		const [one, ...more] = of(2, 1);
		expect(more).toEqual([]);
		expect(one!.price).toBeCloseTo(Math.LN2, 9);
		expect(one!.caution).toMatch(
			/fit A's flow with the times of its rows, not with column interval_s, which is 2 times/,
		);
		expect(one!.input.account.account_kg[10]).toBeCloseTo(logs(2, 1).account.account_kg[10]! / 2, 9);
		// Half the flow on the same ground.
		expect(one!.input.seams[0]!.log_jump).toBeCloseTo(0.1 - Math.LN2, 9);
		expect(of(2, 0.5)).toHaveLength(3);
	});

	it('in part of a log scale that part, and say so; its seams tell nothing of it then', () => {
		const input = logs(1, 1);
		input.records.interval_s.fill(2, 1200, 1600);
		const [part] = byTimes({ input } as Explained);
		expect(part!.caution).toMatch(/2 times the time between rows in part of the log/);
		const by = (i: number) => part!.input.account.account_kg[i]! / input.account.account_kg[i]!;
		expect([by(10), by(1500), by(2500)]).toEqual([1, 0.5, 1]);
		expect(part!.input.seams).toEqual([]);
	});

	it('are a reason to suppose errors', () => {
		expect([intervalsContradict(logs(1, 1)), intervalsContradict(logs(1, 3))]).toEqual([false, true]);
	});
});
