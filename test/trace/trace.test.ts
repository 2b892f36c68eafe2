import { describe, expect, it } from 'vitest';
import type { WeightTrace } from '../../lib/model/index.ts';
import { readField } from '../../lib/read/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { addTrace, weightEvents } from '../../lib/trace/index.ts';
import { bookOf, dump, NOON } from '../match/hand.ts';
import { simulate } from '../sim/index.ts';

/** A trace by hand: one sample a second; `weight(t)` in kg, the cart moving where said. */
function trace(
	seconds: number,
	weight: (t: number) => number,
	moving: (t: number) => boolean = () => false,
): WeightTrace {
	const n = seconds;
	return {
		file: 'trace.csv',
		n,
		line: Uint32Array.from({ length: n }, (_, i) => i + 2),
		time_s: Float64Array.from({ length: n }, (_, i) => NOON + i),
		weight_kg: Float64Array.from({ length: n }, (_, i) => weight(i)),
		moving: Int8Array.from({ length: n }, (_, i) => (moving(i) ? 1 : 0)),
	};
}

/** Rises (or falls) by `kg` between two seconds. */
const ramp = (t: number, from: number, to: number, kg: number): number =>
	kg * Math.min(1, Math.max(0, (t - from) / (to - from)));

describe('a weight trace by hand', () => {
	it('two dumps with a pause of 15 s between them are two, each with its own weight', () => {
		const events = weightEvents(trace(600, (t) => ramp(t, 100, 170, 6000) + ramp(t, 185, 260, 7000)));
		expect(events.map((e) => [e.kind, Math.round(e.weight_kg)])).toEqual([
			['dump', 6000],
			['dump', 7000],
		]);
		expect(events[0]!.start_s - NOON).toBeCloseTo(100, -1);
		expect(events[0]!.end_s - NOON).toBeGreaterThan(166);
		expect(events[0]!.end_s - NOON).toBeLessThan(173);
		expect(events.every((e) => e.settled)).toBe(true);
	});

	it('a fall is an offload, a zeroing is neither', () => {
		const events = weightEvents(trace(900, (t) => 13_000 - ramp(t, 200, 330, 12_700) - (t > 400 ? 300 : 0)));
		expect(events).toHaveLength(1);
		expect(events[0]!.kind).toBe('offload');
		expect(Math.abs(events[0]!.weight_kg - 12_700)).toBeLessThan(10);
	});

	it('jolts on the road are no grain', () => {
		const random = seeded(7);
		let jolt = 0;
		const shaken = trace(
			1200,
			() => {
				jolt = 0.5 * jolt + (random.uniform() - 0.5) * 500;
				return 8000 + jolt;
			},
			() => true,
		);
		expect(weightEvents(shaken)).toEqual([]);
	});

	it('a knock that passes is no grain', () => {
		const events = weightEvents(
			trace(
				600,
				(t) => 8000 + ramp(t, 200, 206, 900) - ramp(t, 212, 218, 900),
				(t) => t > 150,
			),
		);
		expect(events).toEqual([]);
	});

	it('a cart that sets off at once gets a mark and a wider weight', () => {
		const random = seeded(3);
		const noise = (t: number): number => (random.uniform() - 0.5) * (t > 172 && t < 400 ? 400 : 20);
		const early = trace(
			600,
			(t) => ramp(t, 100, 170, 6000) + noise(t),
			(t) => t > 172 && t < 400,
		);
		const calm = trace(600, (t) => ramp(t, 100, 170, 6000) + (random.uniform() - 0.5) * 20);
		const [a] = weightEvents(early);
		const [b] = weightEvents(calm);
		expect(a!.settled).toBe(false);
		expect(b!.settled).toBe(true);
		expect(a!.u_kg).toBeGreaterThan(1.2 * b!.u_kg);
		expect(Math.abs(a!.weight_kg - 6000)).toBeLessThan(3 * a!.u_kg);
	});

	it('events become rows of the book, unless the cart log has them already', () => {
		const two = trace(600, (t) => ramp(t, 100, 170, 6000) + ramp(t, 300, 375, 7000));
		const { book, notes } = addTrace(bookOf([dump('D01', 0, 185, 6010)]), two);
		expect(book.dumps.map((d) => [d.id, Math.round(d.weight_kg), d.combines.length])).toEqual([
			['D01', 6010, 0],
			['D02', 7000, 0],
		]);
		expect(book.dumps[1]!.origin).toEqual({ file: 'trace.csv', row: expect.any(Number) });
		expect(notes[0]!.text).toMatch(/2 dumps and 0 offloads/);
		// Once more changes nothing.
		expect(addTrace(book, two).book.dumps).toHaveLength(2);
	});
});

describe('weight traces of simulated fields', () => {
	it('six fields: 95 % of events found, none invented, weights within 0.5 %', async () => {
		let events = 0;
		let found = 0;
		const errors: number[] = [];
		let covered = 0;
		for (const seed of [501, 502, 503, 504, 505, 506]) {
			const sim = simulate({ seed, kind: 'trace' });
			const left = weightEvents((await readField(sim.folder)).trace!);
			for (const truth of sim.truth.trace) {
				events++;
				const i = left.findIndex((e) => e.kind === truth.event && Math.abs(e.end_s - truth.time_s) < 60);
				if (i < 0) continue;
				found++;
				const [e] = left.splice(i, 1);
				const off = Math.abs(e!.weight_kg - truth.weight_kg);
				if (off <= 2 * e!.u_kg) covered++;
				if (e!.settled) errors.push(off / truth.weight_kg);
			}
			expect(left).toEqual([]);
		}
		expect(found / events).toBeGreaterThan(0.95);
		expect(covered / found).toBeGreaterThan(0.93);
		errors.sort((a, b) => a - b);
		expect(errors[Math.floor(0.95 * errors.length)]).toBeLessThan(0.005);
	});

	it('without a word on whether the cart moves the same events are found', async () => {
		for (const seed of [501, 502]) {
			const sim = simulate({ seed, kind: 'trace' });
			const read = (await readField(sim.folder)).trace!;
			const left = weightEvents({ ...read, moving: read.moving.map(() => -1) });
			for (const truth of sim.truth.trace) {
				const i = left.findIndex((e) => e.kind === truth.event && Math.abs(e.end_s - truth.time_s) < 60);
				if (i >= 0) left.splice(i, 1);
				else expect(truth.weight_kg).toBeLessThan(500);
			}
			expect(left).toEqual([]);
		}
	});
});
