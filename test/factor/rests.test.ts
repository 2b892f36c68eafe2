import { describe, expect, test } from 'vitest';
import { afterFactors, solveFactors } from '../../lib/factor/index.ts';
import { type DumpFate, silent } from '../../lib/model/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { type Made, make, once } from './make.ts';

/** What an alignment that looks for one factor makes of a change: rests of unknown mass, and weights set aside. */
function misread(made: Made, stayed: readonly number[], aside: readonly number[], notEmptied: readonly number[] = []) {
	const { match, book } = made;
	match.unloadings.forEach((u, i) => {
		const rests = stayed.includes(i);
		Object.assign(u, { rest_kg: rests ? 2400 : 0, u_rest_kg: rests ? 2400 : 30 });
	});
	match.fates = match.unloadings.map(
		(u, i): DumpFate => ({
			dump: i,
			combines: [u.combine],
			combineSource: 'noted',
			status: aside.includes(i) ? 'aside' : stayed.includes(i) || stayed.includes(i - 1) ? 'joined' : 'used',
			reason: stayed.includes(i) ? 'probably not emptied' : null,
			fill: u.fill,
			unloadings: [i],
			start_s: u.start_s,
			end_s: u.end_s,
			inDoubt: false,
		}),
	);
	for (const i of aside) match.weighings[i]!.used = false;
	book.dumps = match.unloadings.map((_, i) => ({ id: `D${i + 1}`, emptied: notEmptied.includes(i) ? 0 : -1 })) as never;
}

/** Grain that stays in the tank after a dump and comes with the next one. */
function leave(made: Made, i: number, kg: number) {
	for (const [at, sign] of [
		[i, -1],
		[i + 1, 1],
	] as const) {
		made.match.weighings[at]!.weight_kg += sign * kg;
		made.match.weighings[at]!.reference_kg += sign * kg;
	}
}

function solve(made: Made) {
	return solveFactors({ ...made, seams: [], jumps: [] }, silent);
}

const stepAt = (hours: number) => (_: number, h: number) => (h < hours ? 1.04 : 0.936);

describe('a step of −10 % that the alignment took for grain left in the tank', () => {
	// Six fills before, eight after; nobody noted grain left but after the eighth, whose weight is thought wrong.
	const made = make({ seed: 21, combines: ['A'], fills: 14, factor: stepAt(0.81) });
	misread(made, [6, 8, 10, 12], [7, 11], [7]);
	leave(made, 7, 2600);
	const found = once(() => solve(made));
	test('is found, and the factor is right', () => {
		expect(found().factors[0]!.form).toBe('step');
		expect(Math.abs(found().factors[0]!.value / made.truth[0]! - 1)).toBeLessThan(0.006);
	});
	test('drops the rests', () => {
		expect(found().emptiedAfterAll).toEqual([6, 8, 10, 12]);
		const after = afterFactors(made.match, found());
		expect(after.fates[10]!.reason).toMatch(/factor changed/);
		expect(after.unloadings[8]!.rest_kg).toBe(0);
	});
});

test('a step is told from the weights about it, whatever else is in doubt', () => {
	const made = make({ seed: 22, combines: ['A'], fills: 14, factor: stepAt(0.81) });
	// Grain did stay three times, as was noted: those weights alone say little.
	misread(made, [1, 8, 11], [], [1, 8, 11]);
	for (const [i, kg] of [
		[1, 900],
		[8, 2100],
		[11, 1300],
	] as const)
		leave(made, i, kg);
	expect(solve(made).factors[0]!.form).toBe('step');
});

test('five weights tell a step of −10 %', () => {
	let found = 0;
	for (let seed = 1; seed <= 10; seed++) {
		const made = make({ seed: 60 + seed, combines: ['A'], fills: 5, factor: stepAt(0.31) });
		if (solve(made).factors[0]!.form === 'step') found++;
	}
	expect(found).toBeGreaterThanOrEqual(8);
});

test('of 40 constant fields of few weights with rests, true and supposed, and a bad weight at most two end otherwise', () => {
	let alarms = 0;
	for (let seed = 1; seed <= 40; seed++) {
		const random = seeded(seed);
		const fills = 5 + (seed % 4);
		const slow = 0.004 + (0.006 * ((seed * 7) % 40)) / 40;
		const made = make({ seed: 700 + seed, combines: ['A'], fills, slow, tau_min: 10 + (seed % 30) });
		const bad = seed % fills;
		const rest = (seed * 3) % (fills - 1);
		misread(made, [rest, (seed * 5) % fills], seed % 3 === 0 ? [] : [bad]);
		leave(made, rest, 500 + 300 * Math.abs(random.normal()));
		made.match.weighings[bad]!.reference_kg += (seed % 2 ? 1 : -1) * (600 + 40 * seed);
		if (solve(made).factors[0]!.form !== 'constant') alarms++;
	}
	expect(alarms).toBeLessThanOrEqual(2);
});
