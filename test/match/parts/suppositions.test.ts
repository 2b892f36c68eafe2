import { describe, expect, it } from 'vitest';
import { align } from '../../../lib/match/beam/align.ts';
import { type Explained, explain } from '../../../lib/match/explained.ts';
import type { MatchInput } from '../../../lib/match/problem/input.ts';
import { prepare } from '../../../lib/match/problem/prepare.ts';
import { clockUnder } from '../../../lib/match/suppose/clock-under.ts';
import { newestFirst, withoutTimes } from '../../../lib/match/suppose/other-order.ts';
import { otherTanks } from '../../../lib/match/suppose/other-tanks.ts';
import { otherLogClocks } from '../../../lib/match/suppose/otherclock.ts';
import { runningWeights } from '../../../lib/match/suppose/running-weights.ts';
import { unitOfPart } from '../../../lib/match/suppose/unitchange.ts';
import { withoutNames } from '../../../lib/match/suppose/unnamed.ts';
import { inUnit, withRows } from '../../../lib/match/suppose/weighed-rows.ts';
import { withoutLog } from '../../../lib/match/suppose/without-log.ts';
import {
	cartSteps,
	type Dump,
	type LoadBook,
	type Match,
	type SeamJump,
	stepsByCart,
} from '../../../lib/model/index.ts';
import { POUND_KG } from '../../../lib/units/index.ts';
import { plainMatch } from '../../plain.ts';
import { bookOf, dump, inputOf, offload, planOf, problemOf, recordsOf } from '../hand.ts';
import { begun, cart, works } from '../two.ts';

/** A field as written, with the clock's offset that fits it best; nothing is solved. */
const plainOf = (input: MatchInput, at_s = 0) =>
	({ input, problem: prepare(input).problem, offset: { at_s } }) as Explained;
const short = recordsOf(['A', 'B'].map((name) => ({ name, from_s: 0, to_s: 100, flow: () => 8 })));
const written = (book: LoadBook) => plainOf(inputOf(short, book));
const weights = (book: LoadBook) => book.dumps.map((d) => d.weight_kg);
/** A match in which each dump is of its noted combine. */
const matched = (dumps: readonly Dump[], names: readonly string[], more: Partial<Match> = {}): Match =>
	plainMatch({
		fates: dumps.map((d, i) => ({
			dump: i,
			combines: d.combines.map((n) => names.indexOf(n)),
			combineSource: 'noted',
			status: 'used',
			reason: null,
			fill: null,
			unloadings: [],
			start_s: 100 * i,
			end_s: 100 * i + 50,
			inDoubt: false,
		})),
		...more,
	});

describe('rows of the cart log changed', () => {
	const book = bookOf(
		[dump('D1', 0, 0, 5000), { ...dump('D2', 1, 60, 6000), u_kg: 20 }, dump('D3', 3, 180, 7000)],
		[offload('L1', 2, 120, 11_000), offload('L2', 4, 240, 7000)],
	);

	it('are those of the steps, dumps and offloads', () => {
		const [steps] = stepsByCart(book) as [ReturnType<typeof stepsByCart>[0]];
		const half = withRows(book, steps.slice(1, 3), inUnit(0.5));
		expect(weights(half)).toEqual([5000, 3000, 7000]);
		expect(half.offloads.map((o) => o.weight_kg)).toEqual([5500, 7000]);
		expect(half.dumps[1]).toEqual({ ...book.dumps[1], weight_kg: 3000, u_kg: 10 });
		expect(half.dumps[0]).toBe(book.dumps[0]);
		expect(weights(book)).toEqual([5000, 6000, 7000]);
	});

	it('are none without steps', () => {
		expect(withRows(book, [], inUnit(0.5))).toEqual(book);
	});
});

describe('grain that no log holds', () => {
	const records = recordsOf(works(false));
	const early = recordsOf(works(false).map((w) => ({ ...w, to_s: w.name === 'A' ? 4800 : w.to_s })));
	const rows = (named: boolean) => cart(records, 0, named).map((r) => r.dump);

	it('may be behind any dump that names no combine', () => {
		const [found, ...more] = withoutLog(plainOf(inputOf(early, bookOf(rows(false)))));
		expect(more).toEqual([]);
		expect(prepare(found!.input).problem.incomplete).toBe(true);
		expect(withoutLog(plainOf(inputOf(early, bookOf(rows(true)))))).toEqual([]);
		expect(withoutLog(plainOf(inputOf(early, bookOf(rows(false).slice(0, 4)))))).toEqual([]);
	});

	it('leaves the dumps out where a log ends early', () => {
		const input = inputOf(early, bookOf(rows(false)));
		const [found] = withoutLog(plainOf(input));
		const best = (i: MatchInput) => explain(i, null, () => {})[0]!;
		const [under, plain] = [best(found!.input), best(input)];
		expect(under.cost).toBeLessThan(plain.cost - found!.price);
		expect(under.solved.factor[0]).toBeCloseTo(1.05, 1);
		expect(under.solved.factor[1]).toBeCloseTo(0.94, 1);
	});

	it('is dear where a name is noted', () => {
		const input = inputOf(early, bookOf(rows(true)));
		expect(explain({ ...input, incomplete: true }, null, () => {})[0]!.cost).toBe(
			explain(input, null, () => {})[0]!.cost,
		);
	});

	it('makes no weight likely that no tank holds', () => {
		const gain = (kg: number) => {
			const book = bookOf([dump('D1', 0, 300, kg)]);
			const cost = (more: Partial<MatchInput>) =>
				align(problemOf(records, book, more), 0, { width: 8, whole: true, clock_s: 0 })[0]!.cost;
			return cost({}) - cost({ incomplete: true });
		};
		expect(gain(14_000)).toBeGreaterThan(3);
		expect(gain(60_000)).toBe(0);
	});
});

it('tanks that hold more than is given are supposed where many weights exceed them', () => {
	const input = (tank_kg: number) => {
		const { A } = planOf(['A']).combines;
		const combines = { A: { ...A!, tank_kg }, B: { ...A!, tank_kg } };
		const book = bookOf([0, 1, 2].map((i) => dump(`D${i}`, i, 60 * i, 9000 + i)));
		return inputOf(short, book, { plan: { ...planOf(['A']), combines } });
	};
	expect(otherTanks(plainOf(input(9500)))).toEqual([]);
	const [found, ...more] = otherTanks(plainOf(input(4000)));
	expect(more).toEqual([]);
	const { wholeLoads, tank_kg } = prepare(found!.input).problem;
	expect([wholeLoads, tank_kg[0]! > 9000]).toEqual([false, true]);
	expect(found!.input.plan.combines.A!.swath_m).toBe(9);
});

describe('another order', () => {
	const rows = () => [0, 1, 2, 3, 4].map((i) => dump(`D${i}`, i, [300, 0, 60, 120, 180][i]!, 6000 + i));
	const loads = () => [offload('L1', 5, 400, 30_000)];
	const days = (from = 0) =>
		rows().map((r): Dump => ({ ...r, time_s: from + (r.order > 2 ? 86_400 : 0), timeGrain: 'day' }));
	const order = (book: LoadBook) =>
		cartSteps(book).map((s) => (s.dump >= 0 ? book.dumps[s.dump]! : book.offloads[0]!).id);
	const pinned = (dumps: Dump[]) =>
		plainOf(inputOf(short, bookOf(dumps), { plan: planOf(['A', 'B'], { pins: { clock_offset_s: 0 } }) }));

	it('is that of the times, without them', () => {
		const [found, ...more] = withoutTimes(written(bookOf(rows(), loads())));
		expect(more).toEqual([]);
		const { book } = found!.input;
		expect(order(book)).toEqual(['D1', 'D2', 'D3', 'D4', 'D0', 'L1']);
		expect([...book.dumps, ...book.offloads].every((r) => Number.isNaN(r.time_s) && r.timeGrain === 'none')).toBe(true);
		expect(weights(book)).toEqual([6000, 6001, 6002, 6003, 6004]);
		expect(found!.caution).toMatch(/times in the cart log are set aside/);
		expect(newestFirst(written(bookOf(rows(), loads())))).toEqual([]);
	});

	it('is from the last row to the first where no row has a time of day, each day by itself', () => {
		const [found] = newestFirst(written(bookOf(days())));
		expect(order(found!.input.book)).toEqual(['D2', 'D1', 'D0', 'D4', 'D3']);
		expect(found!.caution).toMatch(/newest row/);
		expect(withoutTimes(written(bookOf(days())))).toEqual([]);
	});

	it('is not tried with few dumps, nor against a clock that was set by hand', () => {
		expect(withoutTimes(written(bookOf(rows().slice(1), loads())))).toEqual([]);
		expect(withoutTimes(pinned(rows()))).toEqual([]);
		expect(newestFirst(written(bookOf(days().slice(1))))).toEqual([]);
	});
});

describe('readings of a cart that fills up', () => {
	const filling = (shown: number[], scale = (_: number): string | null => null) =>
		bookOf(shown.map((kg, i) => ({ ...dump(`D${i + 1}`, i, 60 * i, kg), scale: scale(i) })));

	it('are what each dump added; a lower one is of a cart that was emptied', () => {
		const [found, ...more] = runningWeights(written(filling([5000, 11_000, 17_500, 4000, 9500])));
		expect(more).toEqual([]);
		expect(weights(found!.input.book)).toEqual([5000, 6000, 6500, 4000, 5500]);
		const match = plainMatch();
		found!.undo(match, found!.input);
		expect(match.supposed_kg).toEqual([5000, 6000, 6500, 4000, 5500]);
	});

	it('are of each cart by itself', () => {
		const two = filling([5000, 12_000, 11_000, 18_000], (i) => (i % 2 === 0 ? 'red' : 'green'));
		expect(weights(runningWeights(written(two))[0]!.input.book)).toEqual([5000, 12_000, 6000, 6000]);
	});

	it('are not looked for with fewer than two dumps onto others, or where offloads tell', () => {
		expect(runningWeights(written(filling([5000, 11_000, 4000])))).toEqual([]);
		const book = filling([5000, 11_000, 17_500]);
		expect(runningWeights(written({ ...book, offloads: [offload('L', 9, 999, 17_500)] }))).toEqual([]);
	});
});

describe('a unit for part of the cart log', () => {
	// Once the tank was all but empty.
	const KG = [6500, 7200, 5900, 30, 7000, 6600, 6100, 7300, 5800, 6900];
	const rows = (from: number, to: number, unit: number, scale: string | null = null) =>
		bookOf(
			KG.map((kg, i) => ({ ...dump(`D${i + 1}`, 2 * i, 600 * i, i >= from && i < to ? kg / unit : kg), scale })),
			KG.map((kg, i) => ({
				...offload(`L${i + 1}`, 2 * i + 1, 600 * i + 300, i >= from && i < to ? kg / unit : kg),
				scale,
			})),
		);

	it.each([
		['from a dump on', 6, 10, POUND_KG, 'from D7 on', 'in lb'],
		['up to a dump', 0, 6, 1 / POUND_KG, 'before D7', 'in kg read as lb'],
	])('is found %s, offloads and all', (_, from, to, unit, where, name) => {
		const found = unitOfPart(written(rows(from, to, unit)));
		const own = found.find((s) => s.caution!.includes(`${where} fit`) && s.caution!.includes(name))!;
		weights(own.input.book).forEach((kg, i) => {
			expect(kg).toBeCloseTo(KG[i]!, 6);
		});
		own.input.book.offloads.forEach((o, i) => {
			expect(o.weight_kg).toBeCloseTo(KG[i]!, 6);
		});
		// Likelihoods are per kilogram, so each weight brings the unit's logarithm.
		expect(own.price).toBeCloseTo(7.5 - (to - from) * Math.log(unit), 9);
		const match = plainMatch();
		own.undo(match, own.input);
		expect(match.supposed_kg).toEqual(weights(own.input.book));
	});

	it('may be the other one of the other part: which, the logs tell', () => {
		const found = unitOfPart(written(rows(6, 10, POUND_KG)));
		expect(found.map((s) => /(from|before) D7.* in (lb|kg read as lb) /.exec(s.caution!)?.slice(1, 3))).toEqual([
			['from', 'lb'],
			['before', 'kg read as lb'],
		]);
	});

	it('is none where weights stay alike, with fewer than two on either side, or with two carts', () => {
		expect(unitOfPart(written(rows(0, 0, 1)))).toEqual([]);
		expect(unitOfPart(written(bookOf(rows(2, 3, POUND_KG).dumps.slice(0, 3))))).toEqual([]);
		const carts = rows(6, 10, POUND_KG, 'red');
		for (const row of [...carts.dumps, ...carts.offloads]) if (row.order % 4 > 1) row.scale = 'green';
		expect(unitOfPart(written(carts))).toEqual([]);
	});
});

describe('names that say nothing', () => {
	const records = recordsOf(works(true));
	const rows = cart(records, 500, true).map((r) => ({ ...r.dump, time_s: Number.NaN, timeGrain: 'none' as const }));
	const few = rows.slice(0, 6);
	const plain = plainOf(inputOf(records, bookOf(few)));
	const found = withoutNames(plain);
	const names = (book: LoadBook) => book.dumps.map((d) => d.combines.join('+'));
	const own = names(plain.input.book);

	it('are left out', () => {
		expect(found.map((s) => names(s.input.book))).toEqual([own.map(() => '')]);
		expect(found.map((s) => s.price)).toEqual([6]);
	});

	it('come with the clock as the weights alone have it', () => {
		expect(found[0]!.offsets).toEqual([]);
		const { right, dumps } = begun(500);
		for (const s of withoutNames(plainOf(inputOf(right, bookOf(dumps)))))
			expect(Math.abs(s.offsets![0]! - 500)).toBeLessThan(40);
	});

	it('are told where the weight went elsewhere', () => {
		const match = matched(few, records.combines);
		match.fates[0]!.combines = [1 - match.fates[0]!.combines[0]!];
		found.at(-1)!.undo(match, plain.input);
		expect(match.fates.map((f) => f.reason)).toEqual([
			`entered for ${own[0]}; the name appears to be wrong`,
			...[null, null, null, null, null],
		]);
	});

	it('are not those that the user has decided', () => {
		const pins = { dumps: { D1: { combine: own[0]! } } };
		const plan = planOf(['A', 'B'], { pins });
		const pinned = withoutNames(plainOf(inputOf(records, bookOf(few), { plan })));
		for (const s of pinned) expect(names(s.input.book)[0]).toBe(own[0]);
	});

	it('are not looked for without names', () => {
		const none = bookOf(few.map((d) => ({ ...d, combines: [] })));
		expect(withoutNames(plainOf(inputOf(records, none)))).toEqual([]);
	});
});

describe('the clock under a supposition', () => {
	const { right: records, dumps: rows } = begun(500);

	it('is that of the supposed input', () => {
		const wrong = rows.map((d, i) => ({ ...d, weight_kg: d.weight_kg / (i % 3 ? 1 : POUND_KG) }));
		const plain = plainOf(inputOf(records, bookOf(wrong)));
		const [offset_s, ...more] = clockUnder(plain, { ...plain.input, book: bookOf(rows) });
		expect(more).toEqual([]);
		expect(Math.abs(offset_s! - 500)).toBeLessThan(40);
	});

	it('is none without times', () => {
		const untimed = bookOf(rows.map((d) => ({ ...d, time_s: Number.NaN, timeGrain: 'none' as const })));
		expect(clockUnder(plainOf(inputOf(records, untimed)), inputOf(records, untimed))).toEqual([]);
	});
});

describe('another clock in one log', () => {
	const { right, dumps } = begun();
	/** A's log is this much ahead of B's and the cart. */
	const ahead = (off: number) => ({
		...right,
		time_s: right.time_s.map((t, i) => t + (right.combine[i] === 0 ? off : 0)),
	});

	const found = (off: number) => otherLogClocks(plainOf(inputOf(ahead(off), bookOf(dumps))));
	const hour = found(3600);

	it('is found by its own dumps, and its log set back', () => {
		const [s, ...more] = hour;
		expect(more).toEqual([]);
		const { time_s } = s!.input.records;
		// As it was, to the search's accuracy; the other log stays.
		for (let i = 0; i < right.n; i += 500) {
			const shift = time_s[i]! - right.time_s[i]!;
			if (right.combine[i] === 0) expect(Math.abs(shift)).toBeLessThan(40);
			else expect(shift).toBe(0);
		}
		expect(s!.caution).toMatch(/^The clock in combine A's log is 1 h ahead of the other logs/);
	});

	it('is likelier by hours, as of a time zone', () => {
		expect(hour[0]!.price).toBe(6);
		expect(found(1234)[0]!.price).toBe(8);
	});

	it('is put back where the match is told', () => {
		const off = Math.round(ahead(3600).time_s[0]! - hour[0]!.input.records.time_s[0]!);
		const unloading = { start_s: 1000, end_s: 1080 } as Match['unloadings'][0];
		const match = matched(dumps.slice(0, 2), ['A', 'B'], {
			unloadings: [
				{ ...unloading, combine: 0 },
				{ ...unloading, combine: 1 },
			],
		});
		hour[0]!.undo(match, hour[0]!.input);
		const moved = match.unloadings.map((u) => [u.start_s - 1000, u.end_s - 1080].map(Math.round));
		expect(moved).toEqual([
			[off, off],
			[0, 0],
		]);
		expect(match.fates.map((f, i) => Math.round(f.end_s - (100 * i + 50)))).toEqual(
			dumps.slice(0, 2).map((d) => (d.combines[0] === 'A' ? off : 0)),
		);
	});

	it('is not looked for where all agree, or there is one log', () => {
		expect(found(0)).toEqual([]);
		const one = recordsOf([works(true)[0]!]);
		expect(otherLogClocks(plainOf(inputOf(one, bookOf(dumps.filter((d) => d.combines[0] === 'A')))))).toEqual([]);
	});

	it('may be any of some half hours in either log where names are missing', () => {
		const unnamed = bookOf(dumps.map((d) => ({ ...d, combines: [] })));
		const any = otherLogClocks(plainOf(inputOf(right, unnamed), 100));
		const shifts = any.map((s) => [0, 1].map((c) => right.time_s[5600 * c]! - s.input.records.time_s[5600 * c]!));
		const hours = [-7200, -3600, -1800, 1800, 3600, 7200];
		expect(shifts).toEqual([...hours.map((h) => [h, 0]), ...hours.map((h) => [0, h])]);
		expect(any[0]!.offsets).toEqual([7300, -7100]);
	});
});

it('seams further apart than monitors are say the less: a header may be of another width', () => {
	const u = (log_jump: number) => {
		const jump = { combineA: 0, combineB: 1, length_m: 2000, log_jump, u_log: 0.01 } as SeamJump;
		return prepare(inputOf(short, bookOf([]), { seams: [jump] })).problem.priors.ratios[0]!.u;
	};
	expect(u(0.3)).toBe(u(0));
	expect(u(Math.log(2)) ** 2 - u(0) ** 2).toBeCloseTo((Math.log(2) - 3 * Math.SQRT2 * 0.12) ** 2, 9);
	expect(u(-Math.log(2))).toBe(u(Math.log(2)));
});
