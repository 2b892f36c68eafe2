import { describe, expect, it } from 'vitest';
import { MONITOR } from '../../lib/model/index.ts';
import { effectiveFreedom, halfWidth, seeded, tQuantile } from '../../lib/stats/index.ts';
import {
	courseOf,
	likeliestSizes,
	meanVariance,
	priorFactor,
	type Shares,
	sharesOf,
	spreadOf,
	Tape,
} from '../../lib/tank/index.ts';

describe('the likeliest sizes of errors', () => {
	/** Log-likelihood of n errors whose squares add up to n s², by size. */
	const scattered = (n: number, s: number) => (size: number) => -n * Math.log(size) - (n * s * s) / (2 * size * size);
	type Of = (size: number) => number;
	const likelihood =
		({ sigma, rests, white }: { sigma?: Of; rests?: Of; white?: Of }) =>
		(size: { sigma: number; rests: number; white: number }) =>
			(sigma?.(size.sigma) ?? 0) + (rests?.(size.rests) ?? 0) + (white?.(size.white) ?? 0);

	it('are the usual ones where nothing tells', () => {
		const found = likeliestSizes(() => 0);
		expect(found).toMatchObject({ sigma: MONITOR.slow, rests: 1 });
		// A factor of two either way: the root mean square lies above the likeliest.
		expect(found.sigmaMean).toBeGreaterThan(found.sigma);
		expect(found.sigmaMean).toBeLessThan(2 * found.sigma);
		expect(found.whiteMean).toBeGreaterThanOrEqual(found.white);
	});

	it.each([
		[0.003, 0.003],
		[0.02, 0.02],
		[0.06, 0.06],
	])('follow many weights that scatter by %f', (s, sigma) => {
		const found = likeliestSizes(likelihood({ sigma: scattered(400, s) }));
		expect(found.sigma).toBe(sigma);
		expect(found.sigmaMean / s).toBeCloseTo(1, 1);
	});

	it('of rests and of white errors are found likewise, each on its own grid', () => {
		expect(likeliestSizes(likelihood({ rests: scattered(200, 4) })).rests).toBe(4);
		expect(likeliestSizes(likelihood({ rests: scattered(200, 0.5) })).rests).toBe(0.5);
		const white = likeliestSizes(likelihood({ white: scattered(400, 0.016) }));
		expect(white.white).toBe(0.016);
		expect(white.whiteMean / 0.016).toBeCloseTo(1, 1);
	});

	it('weigh a few weights against what is usual', () => {
		const few = likeliestSizes(likelihood({ sigma: scattered(2, 0.03) }));
		expect(few.sigma).toBeGreaterThan(MONITOR.slow);
		expect(few.sigma).toBeLessThan(0.03);
	});
});

describe('an interval from shares of variance', () => {
	const shares: Shares = { readings: 4, rests: 9, slow: 16, seam: 25, curve: 36, scale: 49, cart: 1 };
	const u = [2, 3, 4, 5, 6, 7, 1.5];
	const known = { scatterDf: 6, seamDf: 9, scale: { u: 1.5, df: 3, half: 0 }, seed: 1 };

	it('adds them up with their degrees of freedom (JCGM 100, G.4)', () => {
		const df = effectiveFreedom(u, [20, 6, 6, 9, 20, 20, 3]);
		const all = Math.hypot(...u);
		const found = spreadOf(shares, known);
		expect(found.u).toBeCloseTo(all, 12);
		expect(found.df).toBeCloseTo(df, 10);
		expect(found.half).toBeCloseTo(tQuantile(0.975, df) * all, 6);
		const many = spreadOf(shares, { ...known, scatterDf: 100 });
		expect(many.df).toBeCloseTo(effectiveFreedom(u, [20, 20, 100, 9, 20, 20, 3]), 10);
	});

	it('takes a further variance, and rectangular limits by draws', () => {
		const more = spreadOf(shares, { ...known, fill: 9 });
		expect(more.u).toBeCloseTo(Math.hypot(...[2, 3, 5, 5, 6, 7, 1.5]), 12);
		const wide = spreadOf(shares, { ...known, scale: { u: 1.5, df: 3, half: 30 } });
		const all = Math.hypot(...u);
		expect(wide.u).toBeCloseTo(Math.hypot(all, 30 / Math.sqrt(3)), 12);
		const list = [
			{ kind: 't' as const, u: all, df: wide.df },
			{ kind: 'rectangular' as const, half: 30 },
		];
		expect(wide.half).toBe(halfWidth(list, 0.95, 20_000, 1));
		expect(spreadOf(shares, { ...known, scale: { u: 1.5, df: 3, half: 30 }, draws: 500 }).half).toBe(
			halfWidth(list, 0.95, 500, 1),
		);
	});

	it('is not undone by a negative covariance, and has one degree of freedom at least', () => {
		const only = { readings: -1, rests: -1, slow: 4, seam: -1, curve: -1, scale: -1, cart: 0 };
		const found = spreadOf(only, { scatterDf: 0.5, seamDf: 1, scale: { u: 0, df: 1, half: 0 }, seed: 1 });
		expect(found.u).toBe(2);
		expect(found.half).toBeCloseTo(tQuantile(0.975, 1) * 2, 6);
	});

	it('has its shares from a tape by cause, widened by what is not known of their sizes', () => {
		const tape = new Tape(1);
		tape.set(0, 0, 0);
		const causes = [
			['reading', 1],
			['weight', 2],
			['rest', 4],
			['slow', 8],
			['change', 16],
			['fill', 32],
			['seam', 64],
			['curve', 128],
			['prior', 256],
			['scale', 512],
			['cart', 1024],
		] as const;
		for (const [cause, variance] of causes) tape.mix(0, 1, [], [], 0, variance, cause);
		const size = { sigma: 0.01, sigmaMean: 0.02, white: 0.01, whiteMean: 0.03, rests: 1 };
		const found = sharesOf(tape, size, [3]);
		for (const [name, variance] of Object.entries({
			readings: 3,
			rests: 4,
			slow: 4 * 24 + 9 * 32,
			seam: 64,
			curve: 384,
			scale: 512,
			cart: 1024,
		}))
			expect(found[name as 'cart'], name).toBeCloseTo(9 * variance, 6);
		expect(sharesOf(tape, { ...size, white: 0 }, [1]).slow).toBeCloseTo(4 * 24, 8);
	});
});

describe('the prior of a factor', () => {
	it('is about 1 as calibrations scatter, and follows a rough one that no monitor has', () => {
		const [low, high] = MONITOR.plausible;
		expect(priorFactor(1.05)).toEqual({ mean: 1, u: MONITOR.factor });
		expect(priorFactor(low)).toEqual({ mean: low, u: low });
		expect(priorFactor(high)).toEqual({ mean: high, u: high });
		expect(priorFactor(2.2)).toEqual({ mean: 2.2, u: 2.2 });
	});
});

describe('a slow error', () => {
	const slow = { sigma: 0.02, tau_s: 1000 };
	/** An Ornstein-Uhlenbeck path in small steps: its mean over a stretch and its end. */
	function drawn(seconds: number, start: number, random: ReturnType<typeof seeded>) {
		const n = 400;
		const keep = Math.exp(-seconds / n / slow.tau_s);
		let s = start;
		let sum = 0;
		for (let i = 0; i < n; i++) {
			const next = keep * s + slow.sigma * Math.sqrt(1 - keep * keep) * random.normal();
			sum += (s + next) / 2 / n;
			s = next;
		}
		return [sum, s] as const;
	}

	it.each([300, 1500, 6000])('over %i s has the mean and end that draws have', (seconds) => {
		const random = seeded(seconds);
		const course = courseOf(0, seconds, slow.tau_s);
		const [mean, end] = [0.03 * course.share, 0.03 * course.keep];
		let [m, e, mm, ee, me] = [0, 0, 0, 0, 0];
		const N = 4000;
		for (let i = 0; i < N; i++) {
			const [x, y] = drawn(seconds, 0.03, random);
			m += x / N;
			e += y / N;
			mm += (x - mean) ** 2 / N;
			ee += (y - end) ** 2 / N;
			me += ((x - mean) * (y - end)) / N;
		}
		expect(Math.abs(mean - m)).toBeLessThan(0.001);
		expect(Math.abs(end - e)).toBeLessThan(0.0012);
		expect(Math.abs((course.mean * slow.sigma ** 2) / mm - 1)).toBeLessThan(0.08);
		expect(Math.abs((course.end * slow.sigma ** 2) / ee - 1)).toBeLessThan(0.08);
		expect(Math.abs((course.both * slow.sigma ** 2) / me - 1)).toBeLessThan(0.1);
	});

	it('after a pause is that of both times one after the other', () => {
		const [pause, work] = [courseOf(500, 0, slow.tau_s), courseOf(0, 900, slow.tau_s)];
		const course = courseOf(500, 900, slow.tau_s);
		expect(course.keep).toBeCloseTo(pause.keep * work.keep, 14);
		expect(course.share).toBeCloseTo(pause.keep * work.share, 14);
		expect(course.end).toBeCloseTo(work.keep ** 2 * pause.end + work.end, 14);
		expect(course.mean).toBeCloseTo(work.share ** 2 * pause.end + work.mean, 14);
		expect(course.both).toBeCloseTo(work.keep * work.share * pause.end + work.both, 14);
	});

	it('of a moment is its series, of no time nothing', () => {
		// Either side of where differences would lose digits.
		const [below, above] = [0.9999, 1.0001].map((seconds) => Object.values(courseOf(0, seconds, slow.tau_s))) as [
			number[],
			number[],
		];
		for (const [i, v] of below.entries()) expect(above[i]! / v).toBeCloseTo(1, 2);
		expect(courseOf(0, 0, slow.tau_s)).toEqual({ keep: 1, share: 1, end: 0, mean: 0, both: 0 });
		const keep = Math.exp(-0.5);
		const { end } = courseOf(500, 0, slow.tau_s);
		expect(end).toBeCloseTo(1 - keep ** 2, 14);
	});

	it('averages out over a stretch', () => {
		expect(meanVariance(0, 1000)).toBe(1);
		expect(meanVariance(1000, 1000)).toBeCloseTo(2 * Math.exp(-1), 12);
		expect(meanVariance(2000, 1000)).toBeCloseTo((2 * (1 + Math.exp(-2))) / 4, 12);
		expect(meanVariance(0.2, 1000)).toBeCloseTo(1 - 0.0002 / 3, 6);
	});
});
