import { expect, test } from 'vitest';
import { type Dump, type DumpFate, type Offload, silent } from '../../lib/model/index.ts';
import { factorsOf } from '../../lib/pipeline/factors.ts';
import { make } from '../factor/make.ts';
import { plainRow } from '../plain.ts';

/** A made field with one weight mistyped and the offload of every dump. */
function mistyped(by: number, offloadBy = 1) {
	const made = make({ seed: 61, combines: ['A'], fills: 8 });
	const { match } = made;
	const right = match.weighings.map((w) => w.weight_kg);
	const wrong = 4;
	for (const key of ['weight_kg', 'reference_kg'] as const) match.weighings[wrong]![key] *= by;
	const dumps = match.weighings.map((w, i): Dump => {
		w.dumps = [i];
		const { end_s } = match.unloadings[w.unloadings[0]!]!;
		return { ...plainRow(`D${i}`, 2 * i, end_s, w.weight_kg), combines: [], emptied: -1, settled: true };
	});
	match.fates = match.weighings.map((w, dump): DumpFate => {
		const { combine, start_s, end_s, fill } = match.unloadings[w.unloadings[0]!]!;
		const place = { unloadings: w.unloadings, fill, start_s, end_s };
		return {
			dump,
			combines: [combine],
			combineSource: 'noted',
			...place,
			status: 'used',
			reason: null,
			inDoubt: false,
		};
	});
	const offloads = dumps.map((d, i): Offload => {
		const kg = Math.round(right[i]! * (i === wrong ? offloadBy : 1));
		return { ...plainRow(`L${i}`, 2 * i + 1, d.time_s + 60, kg), truckLoad: `T${i}` };
	});
	const input = { ...made, book: { dumps, offloads, tickets: [] }, seams: [], jumps: [] };
	return { input, right_kg: right[wrong]!, wrong };
}

test('a weight that was entered wrong counts with what the truck got; the dump stays set aside and says so', () => {
	const { input, right_kg, wrong } = mistyped(0.6);
	const without = factorsOf({ ...input, book: { ...input.book, offloads: [] } }, silent);
	const { factors, match } = factorsOf(input, silent);
	const fate = match.fates.find((f) => f.dump === 4)!;
	expect(fate).toMatchObject({ status: 'aside', byTruck: true });
	expect(fate.reason).toMatch(/possibly a wrong weight; [\d,]+ lb \([\d,]+ kg\) by truckload T4 is used in its place/);
	expect(match.weighings[wrong]).toMatchObject({ used: true, weight_kg: Math.round(right_kg) });
	const c = fate.combines[0]!;
	expect(factors.factors[c]!.n).toBe(without.factors.factors[c]!.n);
	expect(factors.factors[c]!.advice.join('\n')).not.toContain('D4:');
	expect(factors.factors[c]!.u_rel).toBeLessThan(without.factors.factors[c]!.u_rel);
});

test('a truck that fits neither changes nothing', () => {
	const { input } = mistyped(0.6, 1.5);
	const without = factorsOf({ ...input, book: { ...input.book, offloads: [] } }, silent);
	const { factors, match } = factorsOf(input, silent);
	expect(factors.factors).toEqual(without.factors.factors);
	expect(match.fates.some((f) => f.byTruck)).toBe(false);
});

test('a dump that a person set aside stays so', () => {
	const { input, wrong } = mistyped(0.6);
	input.plan = { ...input.plan, pins: { dumps: { D4: { status: 'aside', reason: 'the auger was stopped' } } } };
	const { match } = factorsOf(input, silent);
	expect(match.weighings[wrong]!.weight_kg).toBe(input.match.weighings[wrong]!.weight_kg);
});
