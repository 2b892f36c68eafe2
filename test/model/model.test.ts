import { describe, expect, test } from 'vitest';
import {
	afresh,
	appliedFactor,
	CART,
	CallFault,
	CLOCK,
	caution,
	emptyRecords,
	excerpt,
	FLAG_LIMITS,
	FLAGS,
	faultText,
	flagCode,
	InputFault,
	inTimeOrder,
	inTurn,
	isPlausible,
	MOISTURE,
	MONITOR,
	PIN_FORMS,
	PIN_LIMITS,
	PIN_STATUSES,
	progress,
	remark,
	remembered,
	SEAM,
	type Statement,
	Stopped,
	silent,
	stated,
	TANK,
	TICKETS,
	wholeFile,
} from '../../lib/model/index.ts';

describe('faults', () => {
	test('a line of text names the file, the row, the column, why, and what was found', () => {
		const fault = { file: 'cart.csv', row: 3, column: 'weight_kg', found: '"abc"', why: 'not a number' };
		expect(faultText(fault)).toBe('cart.csv, row 3, column weight_kg: not a number (found: "abc")');
		expect(faultText(wholeFile('cart.csv', '', 'empty'))).toBe('cart.csv: empty');
		expect(faultText(wholeFile('cart.csv', '7', 'no unit', 'flow'))).toBe('cart.csv, column flow: no unit (found: 7)');
	});

	test('errors have names, and all faults in their message', () => {
		const fault = new InputFault([wholeFile('a.csv', '', 'empty'), wholeFile('b.csv', '', 'missing')]);
		expect([fault.name, fault.message]).toEqual(['InputFault', 'a.csv: empty\nb.csv: missing']);
		expect(new CallFault('no such option').name).toBe('CallFault');
		expect([new Stopped().name, new Stopped().message]).toEqual(['Stopped', 'stopped']);
	});

	test('what was found is cut off at 60 characters', () => {
		expect(excerpt('x'.repeat(60))).toBe('x'.repeat(60));
		expect(excerpt('x'.repeat(61))).toBe(`${'x'.repeat(57)}…`);
		expect([excerpt([1, 'a']), excerpt(undefined)]).toEqual(['[1,"a"]', 'nothing']);
	});

	test('remarks', () => {
		expect([caution('a'), remark('b')]).toEqual([
			{ level: 'caution', text: 'a' },
			{ level: 'note', text: 'b' },
		]);
	});
});

describe('records', () => {
	test('nothing is known of empty ones', () => {
		const r = emptyRecords(2);
		expect(r.n).toBe(2);
		for (const column of [r.time_s, r.lat_deg, r.lon_deg, r.flow_kg_s, r.interval_s, r.distance_m, r.swath_m])
			expect([...column]).toEqual([Number.NaN, Number.NaN]);
		for (const column of [r.moisture_pct, r.speed_m_s, r.heading_deg, r.elevation_m])
			expect([...column]).toEqual([Number.NaN, Number.NaN]);
		for (const column of [r.headerDown, r.augerOn, r.variety, r.load]) expect([...column]).toEqual([-1, -1]);
		expect([r.combines, r.varieties, r.loads]).toEqual([[], [], []]);
	});

	test('of one combine in order of time; equal times keep the file’s order', () => {
		const r = emptyRecords(6);
		r.combine.set([0, 1, 0, 0, 1, 0]);
		r.time_s.set([5, 1, 3, 5, 2, 4]);
		expect([...inTimeOrder(r, 0)]).toEqual([2, 5, 0, 3]);
		expect([...inTimeOrder(r, 1)]).toEqual([1, 4]);
		expect([...inTimeOrder(r, 2)]).toEqual([]);
	});
});

describe('work', () => {
	test('in turn: results in order, the share done after each', () => {
		const shares: number[] = [];
		expect(
			inTurn(
				(x: number) => 2 * x,
				[1, 2],
				(share) => shares.push(share),
			),
		).toEqual([2, 4]);
		expect(shares).toEqual([0.5, 1]);
		expect(inTurn((x: number) => x, [1])).toEqual([1]);
	});

	test('progress is told, and stops where it is asked to', () => {
		const told: [string, number][] = [];
		const signal = { aborted: false };
		const listening = progress((stage, share) => told.push([stage, share]), signal);
		listening.step('match', 0.5);
		expect(told).toEqual([['match', 0.5]]);
		signal.aborted = true;
		expect(() => listening.step('match', 1)).toThrow(Stopped);
		expect(told).toHaveLength(1);
		progress((stage, share) => told.push([stage, share])).step('map', 0);
		expect(told).toHaveLength(2);
		expect(silent.step('map', 1)).toBeUndefined();
	});

	test('what is made is kept under its key, nothing where it is made afresh', () => {
		const kept = new Map<string, number>();
		let made = 0;
		expect([remembered(kept, 'a', () => ++made), remembered(kept, 'a', () => ++made)]).toEqual([1, 1]);
		expect([remembered(kept, 'b', () => ++made), kept.get('b')]).toEqual([2, 2]);
		expect([afresh('part', [], () => ++made), afresh('part', [], () => ++made)]).toEqual([3, 4]);
	});
});

test('a statement is found by what it states and about whom', () => {
	const of = (what: Statement['what'], about: string | null) => ({ what, about }) as Statement;
	const list = [of('factor', 'A'), of('area', null), of('factor', 'B')];
	expect(stated(list, 'factor', 'B')).toBe(list[2]);
	expect(stated(list, 'area')).toBe(list[1]);
	expect(stated(list, 'factor')).toBeUndefined();
	expect(stated(list, 'delay', 'A')).toBeUndefined();
});

test('a factor that is not known changes nothing', () => {
	expect([appliedFactor(0.9), appliedFactor(Number.NaN), appliedFactor(Infinity)]).toEqual([0.9, 1, 1]);
});

test('factors that a monitor could have', () => {
	expect([0.59, 0.6, 1, 1.6, 1.61, 2.2].map(isPlausible)).toEqual([false, true, true, true, false, false]);
});

test.each(Object.entries({ CART, CLOCK, MOISTURE, MONITOR, SEAM, TANK, TICKETS }))(
	'how %s err: numbers above nothing',
	(_, constants) => {
		const numbers = Object.values(constants).flat();
		expect(numbers.length).toBeGreaterThan(0);
		for (const value of numbers) expect(value).toBeGreaterThan(0);
	},
);

test('a flag’s code is its place in the list; 0 is no flag', () => {
	expect(FLAGS[0]).toBe('');
	expect(FLAGS.map((flag) => flagCode[flag])).toEqual(FLAGS.map((_, code) => code));
	expect(new Set(FLAGS).size).toBe(FLAGS.length);
});

test.each([...Object.entries(FLAG_LIMITS), ...Object.entries(PIN_LIMITS)])('limits of %s', (_, [least, most, what]) => {
	expect(least).toBeLessThan(most);
	expect(what).toMatch(/^an? (share|rate|flow|moisture|width|number|offset|factor|lag)\b/);
});

test('what a dump and a factor may be pinned to', () => {
	expect(PIN_STATUSES).toEqual(['used', 'joined', 'aside']);
	expect(PIN_FORMS).toEqual(['constant', 'step', 'trend', 'flow']);
	expect(PIN_LIMITS.factor.slice(0, 2)).toEqual([0.01, 100]);
});
