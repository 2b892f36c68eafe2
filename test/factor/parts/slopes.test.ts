import { describe, expect, it } from 'vitest';
import { flowShape, showsCurve } from '../../../lib/factor/form/curve.ts';
import { type FlowSlope, flowSlopes } from '../../../lib/factor/form/slopes.ts';
import type { Account, Records, Seam, Track } from '../../../lib/model/index.ts';
import { seeded } from '../../../lib/stats/index.ts';

interface Field {
	/** Combine of each pass, side by side from west to east. */
	combines: number[];
	speed_m_s: (pass: number) => number;
	/** What a monitor reads, relative, over the log yield: by flow as recorded, combine and pass. */
	reads?: (flow: number, combine: number, pass: number) => number;
	width_m?: (pass: number) => number;
	records?: (pass: number) => number;
	flagged?: (pass: number) => boolean;
	excluded?: (pass: number) => string | null;
	/** Length of the seam between a pass and the next, of their 400 m. */
	seam_m?: (pass: number) => number;
	/** Spread of the passes' own yields, relative. */
	scatter?: number;
	seed?: number;
	trend?: number;
	interval_s?: number;
	/** The seam of a pass and the next is listed the other way round. */
	turned?: (pass: number) => boolean;
	/** Direction of the passes, radians from north. */
	heading_rad?: number;
	/** What else is wrong with the columns, by pass and record in it. */
	spoil?: (columns: Columns, pass: number, k: number, at: number) => void;
}
/** The columns that a slope is made of. */
interface Columns {
	kg: Float64Array;
	area_m2: Float64Array;
	speed_m_s: Float64Array;
	width_m: Float64Array;
	interval_s: Float64Array;
	flag: Uint8Array;
}

/** Passes of one crop, cut at different speeds: each record of a second, the yield of a pass with a scatter of its own. */
function slopes(field: Field): FlowSlope[] {
	return estimated(field).found;
}

/** The same with each pass's speed, flow and log yield as recorded. */
function estimated(field: Field) {
	const { combines, speed_m_s, records = () => 20, width_m = () => 9, scatter = 0.004, seed = 1, trend = 0 } = field;
	const { interval_s = 1, heading_rad = 0 } = field;
	const random = seeded(seed);
	const of = combines.flatMap((_, p) => Array<number>(records(p)).fill(p));
	const column = (value: (pass: number) => number) => Float64Array.from(of, value);
	const crop = combines.map((_, p) => 0.9 * Math.exp(scatter * random.normal() + trend * p));
	// The flow that the monitor shows where it reads off by what it reads: a few turns find it.
	const shown = combines.map((c, p) => {
		const true_kg_s = crop[p]! * width_m(p) * speed_m_s(p);
		let flow = true_kg_s;
		for (let turn = 0; turn < 50; turn++) flow = true_kg_s * Math.exp(field.reads?.(flow, c, p) ?? 0);
		return flow;
	});
	const columns: Columns = {
		kg: column((p) => interval_s * shown[p]!),
		area_m2: column((p) => interval_s * width_m(p) * speed_m_s(p)),
		speed_m_s: column(speed_m_s),
		width_m: column(width_m),
		interval_s: column(() => interval_s),
		flag: Uint8Array.from(of, (p) => Number(field.flagged?.(p) ?? false)),
	};
	for (const i of of.keys()) field.spoil?.(columns, of[i]!, i - of.indexOf(of[i]!), i);
	const passes = combines.map((combine, p) => ({
		combine,
		records: Int32Array.from(of.keys()).filter((i) => of[i] === p),
		length_m: 400,
		heading_rad: heading_rad + (p % 2 ? Math.PI : 0),
	}));
	const track = {
		...columns,
		passes,
		cutX_m: column((p) => 9 * p * Math.cos(heading_rad)),
		cutY_m: column((p) => -9 * p * Math.sin(heading_rad)),
	} as unknown as Track;
	const seams = passes.slice(1).map((_, p): Seam => {
		const [passA, passB] = field.turned?.(p) ? [p + 1, p] : [p, p + 1];
		return {
			passA,
			passB,
			combineA: combines[passA]!,
			combineB: combines[passB]!,
			length_m: field.seam_m?.(p) ?? 400,
			line_m: new Float64Array(0),
			excluded: field.excluded?.(p) ?? null,
		};
	});
	const names = { combines: ['A', 'B'].slice(0, 1 + Math.max(...combines)), interval_s: columns.interval_s };
	const account = { account_kg: columns.kg } as unknown as Account;
	const passMeans = shown.map((flow, p) => ({
		speed: speed_m_s(p),
		flow,
		logYield: Math.log(flow / (width_m(p) * speed_m_s(p))),
	}));
	return { found: flowSlopes(names as unknown as Records, account, track, seams), passMeans };
}

const twenty = Array<number>(20).fill(0);
/** Passes in threes: slow, fast, usual. */
const paces = (p: number) => [1.4, 2.2, 1.8][(p * 7) % 3]!;

describe('slopes over flow from neighboring passes', () => {
	it('are what the factor must be for even yields: lower where the monitor reads more', () => {
		const [found] = slopes({ combines: twenty, speed_m_s: paces, reads: (flow) => 0.01 * (flow - 14) });
		expect(found).toMatchObject({ combine: 0, pairs: 19, why: null });
		expect(Math.abs(found!.slope + 0.01)).toBeLessThan(3 * found!.u);
		expect(found!.u).toBeLessThan(0.001);
		// Speed spreads by 0.33 m/s, times 0.9 × 9 kg a meter, and 1 + 0.01 × 14 of it as recorded.
		expect(found!.spread_kg_s).toBeGreaterThan(2.4);
		expect(found!.spread_kg_s).toBeLessThan(3.6);
	});

	it('are instrumental-variable estimates, clustered over pairs that share a pass: by hand', () => {
		const seam_m = (p: number) => 250 + 30 * (p % 5);
		const { found, passMeans } = estimated({
			combines: twenty,
			speed_m_s: paces,
			scatter: 0.004,
			trend: 0.002,
			seam_m,
		});
		// Pairs of each pass and the next: differences of the flows, of the speeds (none is beyond two MADs), a trend.
		const pairs = passMeans.slice(1).map((next, p) => {
			const here = passMeans[p]!;
			return { w: seam_m(p), q: here.flow - next.flow, v: here.speed - next.speed, y: here.logYield - next.logYield };
		});
		const sum = (of: (pair: (typeof pairs)[number]) => number) => pairs.reduce((s, pair) => s + pair.w * of(pair), 0);
		// p lies to the west of q, on the same side throughout: the trend's column is −1.
		const [a, b, c, d] = [sum((x) => x.v * x.q), sum((x) => -x.v), sum((x) => -x.q), sum(() => 1)];
		const [e, f] = [sum((x) => x.v * x.y), sum((x) => -x.y)];
		const det = a * d - b * c;
		const [beta, trend] = [(d * e - b * f) / det, (a * f - c * e) / det];
		expect(found[0]!.slope).toBeCloseTo(-beta, 10);
		// A's row of the inverse, times the moments of each pair with those of its neighbors.
		const moments = pairs.map((x) => ((d * x.v + b) / det) * x.w * (x.y - beta * x.q + trend));
		const own = moments.reduce((s, m) => s + m * m, 0);
		const shared = moments.reduce((s, m, i) => s + m * (m + (moments[i - 1] ?? 0) + (moments[i + 1] ?? 0)), 0);
		expect(found[0]!.u).toBeCloseTo(Math.sqrt((Math.max(own, shared) * 19) / 17), 10);
		// Passes worth: (Σ v²)² / Σ v⁴ of their speeds about the mean.
		const mean = passMeans.reduce((s, x) => s + x.speed, 0) / 20;
		const power = (k: number) => passMeans.reduce((s, x) => s + (x.speed - mean) ** k, 0);
		expect(found[0]!.df).toBeCloseTo(Math.min(20, (1.5 * power(2) ** 2) / power(4)) / 2 - 2, 10);
	});

	it('state their own uncertainty: the scatter over many fields', () => {
		let squares = 0;
		let sum = 0;
		for (let seed = 1; seed <= 60; seed++) {
			const [found] = slopes({ combines: twenty, speed_m_s: paces, scatter: 0.02, seed, trend: 0.003 });
			squares += (found!.slope / found!.u) ** 2;
			sum += found!.slope / found!.u;
		}
		expect(squares / 60).toBeGreaterThan(0.6);
		expect(squares / 60).toBeLessThan(1.7);
		expect(Math.abs(sum / 60)).toBeLessThan(0.4);
	});

	it('do not take a trend across the field, or a level, for a slope', () => {
		const [found] = slopes({ combines: twenty, speed_m_s: (p) => 1.4 + 0.04 * p + 0.2 * (p % 2), trend: 0.01 });
		expect(Math.abs(found!.slope)).toBeLessThan(4 * found!.u);
		const [level] = slopes({ combines: twenty, speed_m_s: paces, reads: () => 0.2 });
		expect(Math.abs(level!.slope)).toBeLessThan(3 * level!.u);
	});

	it('of two combines, with the jump between them', () => {
		const combines = Array.from({ length: 24 }, (_, p) => (p >> 1) % 2);
		const found = slopes({
			combines,
			speed_m_s: paces,
			reads: (flow, c) => (c ? 0.15 : 0.012 * (flow - 14)),
		});
		expect(Math.abs(found[0]!.slope + 0.012)).toBeLessThan(0.002);
		expect(Math.abs(found[1]!.slope)).toBeLessThan(0.002);
		expect(found.map((f) => f.pairs)).toEqual([17, 17]);
	});

	it('leave out single passes that are off', () => {
		const reads = (flow: number, _: number, pass: number) => 0.01 * (flow - 14) + (pass === 9 ? 0.3 : 0);
		const [found] = slopes({ combines: twenty, speed_m_s: paces, reads });
		expect(Math.abs(found!.slope + 0.01)).toBeLessThan(0.001);
	});

	it('take no pass of few records, of part of the header, or flagged; no short or excluded seam', () => {
		const off = { combines: twenty, speed_m_s: paces, reads: (flow: number) => 0.01 * (flow - 14) };
		const pairs = (more: Partial<Field>) => slopes({ ...off, ...more })[0]!.pairs;
		expect(pairs({ records: (p) => (p === 5 ? 14 : 15) })).toBe(17);
		expect(pairs({ records: () => 15 })).toBe(19);
		expect(pairs({ width_m: (p) => (p === 5 ? 7.6 : 9) })).toBe(17);
		expect(pairs({ width_m: (p) => (p === 5 ? 7.7 : 9) })).toBe(19);
		expect(pairs({ flagged: (p) => p === 0 })).toBe(18);
		expect(pairs({ excluded: (p) => (p === 3 ? 'another variety' : null) })).toBe(18);
		expect(pairs({ seam_m: (p) => (p === 3 ? 199 : 200) })).toBe(18);
	});

	it('are none without contrast or passes, and it is said why', () => {
		const why = (more: Partial<Field>) => {
			const [found] = slopes({ combines: twenty, speed_m_s: paces, ...more });
			expect(found!.slope).toBeNaN();
			expect(found!.u).toBeNaN();
			expect(found!.df).toBe(0);
			return found!.why;
		};
		expect(why({ speed_m_s: (p) => 1.8 + 0.01 * (p % 3) })).toBe('its passes were driven at much the same speed');
		expect(why({ combines: twenty.slice(0, 5) })).toBe('too few of its passes lie side by side');
		expect(why({ excluded: () => 'another variety' })).toBe('too few of its passes lie side by side');
		expect(slopes({ combines: [0], speed_m_s: paces, records: () => 3 })[0]).toMatchObject({
			pairs: 0,
			spread_kg_s: 0,
		});
	});
});

describe('slopes over flow do not depend on', () => {
	const off: Field = { combines: twenty, speed_m_s: paces, reads: (flow) => 0.01 * (flow - 14), trend: 0.003 };
	const same = (more: Partial<Field>, field = off) => {
		const [plain, other] = [slopes(field), slopes({ ...field, ...more })];
		other.forEach((found, c) => {
			expect(found.why).toBeNull();
			for (const key of ['slope', 'u', 'df', 'spread_kg_s'] as const)
				expect(found[key] / plain[c]![key]).toBeCloseTo(1, 6);
		});
	};
	const two: Field = {
		combines: Array.from({ length: 24 }, (_, p) => (p >> 1) % 2),
		speed_m_s: paces,
		reads: (flow, c) => (c ? 0.15 : 0.012 * (flow - 14)),
		trend: 0.003,
	};

	it('how often records are taken', () => {
		same({ interval_s: 2 });
	});
	it('which of two passes a seam names first', () => {
		same({ turned: (p) => p % 3 === 0 });
		same({ turned: () => true });
		// Of two combines the jump has the other sign then.
		same({ turned: () => true }, two);
	});
	it('which way the field lies', () => {
		for (const heading_rad of [0.5, Math.PI / 2, 2, -1]) same({ heading_rad, turned: (p) => p % 3 === 0 });
	});
	it('records without area, time, speed or that are flagged', () => {
		const last = (spoil: (columns: Columns, i: number) => void) =>
			same({ spoil: (columns, p, k, i) => (p % 2 && k > 15 ? spoil(columns, i) : undefined) });
		last(({ area_m2 }, i) => {
			area_m2[i] = 0;
		});
		last(({ interval_s }, i) => {
			interval_s[i] = 0;
		});
		last(({ interval_s }, i) => {
			interval_s[i] = Number.NaN;
		});
		last(({ speed_m_s }, i) => {
			speed_m_s[i] = 0;
		});
		last((columns, i) => {
			columns.flag[i] = 3;
			columns.width_m[i] = 40;
		});
		// However wide flagged records are, a full header is what the others have.
		same({
			spoil: (columns, _, k, i) => {
				if (k < 4) [columns.flag[i], columns.width_m[i]] = [3, 40];
			},
			records: () => 20,
		});
	});
	it('a pass without grain', () => {
		const pairs = (flow: number) =>
			slopes({
				...off,
				spoil: ({ kg }, p, _, i) => {
					if (p === 7) kg[i] = flow;
				},
			})[0]!.pairs;
		expect([pairs(0), pairs(Number.NaN), pairs(14)]).toEqual([17, 17, 19]);
	});
});

describe('slopes over flow of', () => {
	it('headers of two widths count with both', () => {
		const combines = Array.from({ length: 24 }, (_, p) => (p >> 1) % 2);
		const found = slopes({ combines, speed_m_s: paces, width_m: (p) => (combines[p] ? 6 : 9) });
		expect(found.map((f) => [f.why, f.pairs])).toEqual([
			[null, 17],
			[null, 17],
		]);
	});

	it('two monitors are exact where nothing scatters, whatever lies between their levels', () => {
		const combines = Array.from({ length: 30 }, (_, p) => [0, 0, 1, 0, 1, 1, 0][(p * p + p) % 7]!);
		const found = slopes({
			combines,
			speed_m_s: paces,
			reads: (flow, c) => (c ? 0.15 - 0.02 * (flow - 14) : 0.012 * (flow - 14)),
			trend: 0.003,
			scatter: 1e-8,
			turned: (p) => p % 3 === 0,
		});
		expect(found[0]!.slope).toBeCloseTo(-0.012, 6);
		expect(found[1]!.slope).toBeCloseTo(0.02, 6);
	});

	it('a monitor whose passes were all driven at one speed are none, beside one with contrast', () => {
		const combines = Array.from({ length: 30 }, (_, p) => [0, 0, 1, 0, 1, 1, 0][(p * p + p) % 7]!);
		const found = slopes({
			combines,
			speed_m_s: (p) => (combines[p] ? 1.8 : paces(p)),
			reads: (flow, c) => (c ? 0.15 : 0.012 * (flow - 14)),
			scatter: 1e-8,
			trend: 0.003,
		});
		expect(found[0]!.slope).toBeCloseTo(-0.012, 6);
		expect(found[1]).toMatchObject({ why: 'its passes were driven at much the same speed', slope: Number.NaN });
	});

	it('passes whose speeds scatter by 5 % of the mean and more, by the median', () => {
		// A third each at 1.8 m/s and as much to either side: the scatter is 1.4826 times that.
		const why = (contrast: number) =>
			slopes({ combines: twenty.slice(0, 18), speed_m_s: (p) => 1.8 + (((p * 7) % 3) - 1) * contrast * 1.8 })[0]!.why;
		expect(why(0.0332)).toBe('its passes were driven at much the same speed');
		expect(why(0.0345)).toBeNull();
	});

	it('one pass far slower than the rest count no more than two scatters of it', () => {
		const speeds = (slow: number) => (p: number) => (p === 10 ? slow : [1.7, 2.1, 1.9][(p * 7) % 3]!);
		const { found, passMeans } = estimated({ combines: twenty, speed_m_s: speeds(0.4), scatter: 0.004 });
		// Its speed as an instrument: 1.9 less twice 1.4826 × 0.2.
		const drives = passMeans.map((x) => Math.max(x.speed, 1.9 - 2 * 1.4826 * 0.2));
		const pairs = passMeans.slice(1).map((next, p) => {
			const here = passMeans[p]!;
			return { q: here.flow - next.flow, v: drives[p]! - drives[p + 1]!, y: here.logYield - next.logYield };
		});
		const sum = (of: (pair: (typeof pairs)[number]) => number) => pairs.reduce((s, pair) => s + of(pair), 0);
		const [a, b, c, d] = [sum((x) => x.v * x.q), sum((x) => -x.v), sum((x) => -x.q), pairs.length];
		const [e, f] = [sum((x) => x.v * x.y), sum((x) => -x.y)];
		expect(found[0]!.slope).toBeCloseTo(-(d * e - b * f) / (a * d - b * c), 5);
	});
});

describe('a curve over flow', () => {
	const slope = (more: Partial<FlowSlope>): FlowSlope => ({
		combine: 0,
		slope: 0.01,
		u: 0.002,
		df: 10,
		pairs: 20,
		spread_kg_s: 2,
		why: null,
		...more,
	});

	it('is shown by passes alone where its slope is far from zero, and matters', () => {
		// t(0.999; 10) = 4.144.
		expect(showsCurve(slope({ u: 0.01 / 4.15 }))).toBe(true);
		expect(showsCurve(slope({ u: 0.01 / 4.14 }))).toBe(false);
		expect(showsCurve(slope({ slope: -0.01 }))).toBe(true);
		expect(showsCurve(slope({ spread_kg_s: 1 }))).toBe(false);
		expect(showsCurve(slope({ spread_kg_s: 1.01 }))).toBe(true);
		expect(showsCurve(slope({ why: 'too few' }))).toBe(false);
		expect(showsCurve(slope({ slope: Number.NaN }))).toBe(false);
	});

	it('is about the mean flow by mass, over the flows that occur', () => {
		const flow = Float64Array.from({ length: 102 }, (_, i) => i);
		const account = { account_kg: flow.map((f) => (f > 50 ? 2 : 1)) } as unknown as Account;
		const order = Int32Array.from(flow.keys());
		const shape = flowShape(account, flow, order);
		// Over 1 … 101: 1 … 50 once, 51 … 101 twice.
		expect(shape.flow_kg_s).toBeCloseTo((1275 + 2 * 3876) / (50 + 2 * 51), 12);
		expect(shape.flowRange_kg_s).toEqual([expect.closeTo(3, 12), expect.closeTo(99, 12)]);
		expect(shape.form).toBe('flow');
	});
});
