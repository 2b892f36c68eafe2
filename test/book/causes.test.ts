import { describe, expect, it } from 'vitest';
import {
	advise,
	type Caution,
	fillWith,
	type RunningFactor,
	running,
	scaleRatio,
	twins,
} from '../../lib/book/index.ts';
import { dump, ground, Writer } from './build.ts';
import { MISHAPS, scoredCarried } from './mishaps.ts';
import { type DayOptions, dumpsOf, keyed, type OperatorDay, operatorDay, ticketsOf, trueFactor } from './operator.ts';

const SEEDS = [1, 2, 3, 4, 5, 6];

/** What the book answers on such days after something was done to each. */
function answers(options: DayOptions, spoil: (day: OperatorDay) => void = () => {}, seeds = SEEDS) {
	return seeds.map((seed) => {
		const day = operatorDay(seed, { total: false, ...options });
		spoil(day);
		const book = keyed(day);
		return { day, book, ...running(book, { field: 'f', season: 2026 }) };
	});
}

type Answer = ReturnType<typeof answers>[number];

/** Whether each factor is right: within 1.5 half-widths, or 1%. */
const right = ({ day, factors }: Answer): boolean =>
	factors.every(({ value, interval }, c) => {
		const half = (interval![1] - interval![0]) / 2;
		return Math.abs(value! - trueFactor(day, c)) <= Math.max(1.5 * half, 0.01 * value!);
	});
const kinds = ({ cautions }: Answer): Caution['kind'][] => cautions.map((c) => c.kind);
const width = (f: RunningFactor): number => (f.interval![1] - f.interval![0]) / (2 * f.value!);

describe('one cause common to many weights', () => {
	it('is not seen on days without one', () => {
		const all = [...answers({}), ...answers({ dumps: 3 }), ...answers({ dumps: 24, tickets: 'all' })];
		expect(all.filter(right)).toHaveLength(all.length);
		expect(all.filter((a) => a.cautions.length > 0).length).toBeLessThanOrEqual(1);
	});

	it('a monitor recalibrated without a note: the error from here on is what it is now', () => {
		const all = answers({ dumps: 24, factorAt: (c, share) => (c === 0 && share > 0.6 ? 1.08 : 1) });
		for (const a of all) {
			expect(kinds(a)).toContain('monitor');
			const [f] = a.factors;
			const now_pct = 100 * (1 / a.day.factors[0]! - 1);
			expect(Math.abs(f!.now_pct! - now_pct)).toBeLessThan(2);
			const caution = a.cautions.find((c) => c.kind === 'monitor')!;
			expect(caution.combine).toBe('A');
			expect(caution.more_pct).toBeLessThan(-5);
			const own = dumpsOf(a.day).filter((d) => d.combine === 0);
			const first = own.findIndex((d) => dumpsOf(a.day).indexOf(d) / 23 > 0.6);
			expect(Math.abs(own.findIndex((d) => d.id === caution.dump) - first)).toBeLessThanOrEqual(1);
		}
	});

	it('a scale that slipped is in no reference weight: those are entered to calibrate by', () => {
		for (const name of ['scale 7% low from noon, tickets', 'zero off, tickets']) {
			const { options, spoil } = MISHAPS[name]!;
			const off = answers(options!, spoil).flatMap(({ day, factors }) => {
				const truth = new Map(dumpsOf(day).map((d) => [d.id, d.truth_kg]));
				return factors.flatMap((f) =>
					f.points.map((p) => p.reference_kg / p.dumps.reduce((s, d) => s + truth.get(d)!, 0) - 1),
				);
			});
			const middle = off.map(Math.abs).sort((a, b) => a - b)[Math.floor(off.length / 2)]!;
			expect(middle).toBeLessThan(0.008);
			expect(Math.abs(off.reduce((s, x) => s + x, 0) / off.length)).toBeLessThan(0.005);
		}
	});

	it('counts for what is carried over from another field too', () => {
		const all = ['scale 7% low from noon, tickets', 'scale drifts by 4%, tickets', 'zero off', 'dry tickets'].flatMap(
			(name) => [1, 2, 3].flatMap((seed) => scoredCarried(MISHAPS[name]!, seed)),
		);
		expect(all.length).toBeGreaterThan(20);
		// By the weights as they stand it was a fifth of them.
		expect(all.filter((c) => c.inside).length).toBeGreaterThan(0.8 * all.length);
		expect(all.filter((c) => c.ownInside).length).toBeGreaterThan(0.8 * all.length);
	});

	it('lists only loads since then for calibration, and none that is clearly wrong', () => {
		const [a] = answers(
			{ dumps: 20, combines: 1, factorAt: (_, share) => (share > 0.5 ? 0.88 : 1) },
			(day) => {
				const d = dumpsOf(day)[15]!;
				d.entered = (d.shown_kg / 10) * 3;
			},
			[2],
		);
		const advice = advise(a!.factors[0]!, scaleRatio(a!.book, 'c', 2026).parts, 2, null);
		expect(advice.kind).toBe('key in');
		if (advice.kind !== 'key in') return;
		const listed = advice.loads.flatMap((l) => l.dumps);
		expect(listed).not.toContain('D16');
		expect(listed).not.toContain('D9');
		expect(listed).toContain('D18');
	});

	const lost = (share: number) => (share > 0.5 ? 0.93 : 1);

	it('a scale that lost 7% at noon: tickets tell, and the factors stay sharp', () => {
		for (const a of answers({ dumps: 24, tickets: 'all', scaleAt: lost })) {
			expect(kinds(a)).toContain('cart');
			expect(right(a)).toBe(true);
			expect(Math.max(...a.factors.map(width))).toBeLessThan(0.02);
		}
	});

	it('and without tickets either side may be right: the interval covers both', () => {
		for (const a of answers({ dumps: 24, combines: 2, tickets: 'none', scaleAt: lost })) {
			expect(kinds(a)).toContain('cart');
			expect(right(a)).toBe(true);
			expect(Math.min(...a.factors.map(width))).toBeGreaterThan(0.02);
			const { parts } = scaleRatio(a.book, 'c', 2026);
			for (const f of a.factors) expect(advise(f, parts, 2, null, a.cautions).kind).toBe('weigh trucks');
		}
	});

	it('a zero that is off: only dumps into the empty cart are', () => {
		const zeroed = (day: OperatorDay) => {
			let empty = true;
			for (const a of day.acts) {
				if (a.do === 'dump' && empty) a.net_kg += 400;
				if (a.do === 'dump') a.reading_kg += 400;
				if (a.do === 'offload') a.reading_kg = 0;
				empty = a.do === 'offload';
			}
		};
		for (const tickets of ['none', 'all'] as const)
			for (const a of answers({ dumps: 24, tickets }, zeroed)) {
				expect(kinds(a)).toContain('zero');
				expect(right(a)).toBe(true);
			}
	});

	it('two carts by turns, entered as one: either scale may be the right one', () => {
		const turns = (_: number, load: number) => (load % 2 === 0 ? 1.05 : 1);
		for (const a of answers({ dumps: 24, tickets: 'none', scaleAt: turns })) {
			expect(kinds(a)).toContain('two');
			expect(right(a)).toBe(true);
		}
	});

	it('names exchanged from noon on', () => {
		const swapped = (day: OperatorDay) => {
			const dumps = dumpsOf(day);
			for (const d of dumps.slice(dumps.length / 2)) d.combine = 1 - d.combine;
		};
		const all = SEEDS.map((seed) => {
			const options: DayOptions = { combines: 2, dumps: 24, total: false, factorAt: (c) => (c === 0 ? 1 : 1.1) };
			const day = operatorDay(seed, options);
			const truth = operatorDay(seed, options);
			swapped(day);
			return { day: truth, book: keyed(day), ...running(keyed(day), { field: 'f', season: 2026 }) };
		});
		expect(all.filter(right).length).toBeGreaterThanOrEqual(5);
		expect(all.filter((a) => kinds(a).includes('names')).length).toBeGreaterThanOrEqual(4);
	});

	it('tanks that are often left with grain: the answer is wide, not wrong', () => {
		const partly = (day: OperatorDay) => {
			day.keys = 'net';
			const dumps = dumpsOf(day);
			dumps.forEach((d, i) => {
				const next = dumps.slice(i + 1).find((x) => x.combine === d.combine);
				if (!next || day.random.uniform() > 0.4) return;
				const kg = d.net_kg * (0.15 + 0.3 * day.random.uniform());
				d.net_kg -= kg;
				next.net_kg += kg;
			});
		};
		const all = answers({ dumps: 24 }, partly);
		expect(all.filter(right).length).toBeGreaterThanOrEqual(5);
		expect(all.filter((a) => kinds(a).includes('rests')).length).toBeGreaterThanOrEqual(5);
	});

	it('tickets of dry weights against a scale that was checked', () => {
		const dried = (day: OperatorDay) => {
			for (const t of ticketsOf(day)) t.net_kg *= (100 - t.moisture_pct) / 84.5;
		};
		for (const a of answers({ dumps: 24, tickets: 'all' }, dried)) {
			expect(kinds(a)).toContain('dry');
			expect(right(a)).toBe(true);
			// The Tickets page shows an interval that covers the ratio under each explanation.
			const { interval, either } = scaleRatio(a.book, 'c', 2026);
			const [dry] = either.filter((e) => e.kind === 'dry');
			expect(dry!.weight).toBeGreaterThan(0.05);
			expect(dry!.ratio.ratio).toBeGreaterThan(interval[0]);
			expect(dry!.ratio.ratio).toBeLessThan(interval[1]);
		}
		// Where the scale was never checked, loads of wetter grain that come to less show it, and days with wet tickets that
		// they do not.
		const seeds = Array.from({ length: 12 }, (_, i) => i + 1);
		const unchecked = answers({ dumps: 24, tickets: 'all', limit_pct: null }, dried, seeds);
		expect(unchecked.filter((a) => right(a) && kinds(a).includes('dry')).length).toBeGreaterThanOrEqual(11);
		const wet = answers({ dumps: 24, tickets: 'all', limit_pct: null }, () => {}, seeds);
		expect(wet.filter((a) => kinds(a).length > 0).length).toBeLessThanOrEqual(2);
	});

	it('one of three weights mistyped: it cannot be told which, so the answer covers each case', () => {
		const typo = (day: OperatorDay) => {
			const d = dumpsOf(day)[1]!;
			day.keys = 'net';
			d.net_kg *= 0.85;
		};
		const all = answers({ dumps: 3, combines: 1 }, typo);
		const named = all.filter((a) => a.cautions.some((c) => c.kind === 'either' && c.dumps.includes('D2')));
		expect(named.length).toBeGreaterThanOrEqual(4);
		for (const a of all) {
			expect(right(a)).toBe(true);
			expect(width(a.factors[0]!)).toBeGreaterThan(0.03);
			expect(a.cautions.length).toBeGreaterThan(0);
		}
	});

	it('a reading in another unit draws nothing toward itself', () => {
		const unit = (day: OperatorDay) => {
			const d = dumpsOf(day)[7]!;
			d.entered = d.shown_kg * 0.4536 * 56;
		};
		for (const a of answers({ dumps: 12, combines: 1 }, unit)) {
			expect(right(a)).toBe(true);
			expect(a.factors[0]!.points.find((p) => p.dumps[0] === 'D8')!.wrong).toBe(true);
		}
	});

	it('a reading is compared with its dump before it is entered, a running total by how it grew', () => {
		const w = ground(new Writer());
		const total = (value: number) => ({
			combine: 'A',
			field: 'north',
			how: 'total' as const,
			value,
			unit: 'kg' as const,
		});
		w.add('reading', { ...total(1000), dump: null });
		const first = dump(w, 'A', 8000, null);
		const reading = { ...total(9100), time_s: w.now_s };
		expect(fillWith(w.book, first, reading)!.monitor).toEqual([{ combine: 'A', kg: 8100 }]);
		w.add('reading', { ...reading, dump: first });
		const entries = w.book.entries.length;
		const second = dump(w, 'A', 8000, null);
		// Twice as much as was weighed: a dump is missing.
		expect(fillWith(w.book, second, { ...total(25_300), time_s: w.now_s })!.monitor[0]!.kg).toBe(16_200);
		expect(fillWith(w.book, second, { ...total(8000), how: 'load', time_s: w.now_s })!.monitor[0]!.kg).toBe(8000);
		expect(w.book.entries).toHaveLength(entries + 1);
	});

	it('a dump saved twice on one tablet', () => {
		const day = operatorDay(3, { keys: 'net', total: false });
		const d = dumpsOf(day)[2]!;
		day.acts.splice(day.acts.indexOf(d) + 1, 0, { ...d, id: 'again', time_s: d.time_s + 60 });
		expect(twins(keyed(day)).map((t) => t.dumps)).toEqual([['D3', 'again']]);
	});
});
