import { describe, expect, it } from 'vitest';
import {
	bookFills,
	EXAMPLES,
	errorOf_pct,
	moistureOffsets,
	pieces,
	running,
	runningFactors,
	scaleRatio,
	totals,
} from '../../lib/book/index.ts';
import { repeatsNeeded } from '../../lib/stats/index.ts';
import { cropNamed, dryWeight, POUND_KG } from '../../lib/units/index.ts';
import { en } from '../../viewer/strings/en.ts';
import { dump, ground, truckLoad, Writer } from './build.ts';
import { dayActs, dayBook } from './day.ts';

const lb = (x: number) => x * POUND_KG;
const day = (time_s: number) => new Date(time_s * 1000).toISOString().slice(0, 10);

describe('the hand-worked examples hold', () => {
	it('ratio: three truck loads on both scales', () => {
		const w = ground(new Writer());
		const loads: [number, number][] = [
			[52_000, 52_900],
			[51_000, 51_770],
			[54_000, 54_970],
		];
		loads.forEach(([cart, ticket], i) => {
			dump(w, 'A', lb(cart), null);
			truckLoad(w, String(i), lb(cart), lb(ticket));
		});
		const r = scaleRatio(w.book, 'cart', 2026);
		expect(r.ratio).toBeCloseTo(EXAMPLES.ratio.answer, 6);
		expect(errorOf_pct(r.ratio)).toBeCloseTo(-1.65, 2);
		// By hand: residuals 25.6, −87.6, 62.0 lb, v = 12171 / (3·2·52333²), u = 0.000 860 (Cochran).
		const u = Math.sqrt(
			((52_900 - r.ratio * 52_000) ** 2 + (51_770 - r.ratio * 51_000) ** 2 + (54_970 - r.ratio * 54_000) ** 2) /
				(6 * (157_000 / 3) ** 2),
		);
		expect(r.parts[0]).toMatchObject({ kind: 't', df: 2 });
		expect((r.parts[0] as { u: number }).u * r.ratio).toBeCloseTo(u, 12);
	});

	it('error of one load', () => {
		const w = ground(new Writer());
		dump(w, 'A', lb(12_000), lb(12_600));
		const f = runningFactors(w.book)[0]!;
		// As the report's factor: what is known of any monitor draws a single weight by a hundredth of its way to 1 at most.
		expect(Math.abs(f.error_pct! - EXAMPLES.error.answer)).toBeLessThan(0.01 * EXAMPLES.error.answer);
		expect(f.value).toBeCloseTo(0.9524, 3);
		// The contract's own words: a factor of 1.05 is an error of −4.76 %.
		expect(errorOf_pct(1.05)).toBeCloseTo(-4.76, 2);
	});

	it('offset of moisture', () => {
		const w = ground(new Writer());
		const a = dump(w, 'A', lb(10_000), null);
		const b = dump(w, 'A', lb(20_000), null);
		const shown = (d: string, moisture_pct: number) =>
			w.add('reading', { combine: 'A', dump: d, how: 'load', value: 1, unit: 'lb', moisture_pct });
		shown(a, 17);
		shown(b, 18.5);
		truckLoad(w, '1', lb(30_000), lb(30_000), { moisture_pct: 18.4 });
		const o = moistureOffsets(w.book);
		expect(o).toHaveLength(1);
		expect(o[0]!.offset_pct).toBeCloseTo(EXAMPLES.offset.answer, 9);
	});

	it('shrink and dry bushels', () => {
		expect(dryWeight(1000, 25.5, 15.5)).toBeCloseTo(EXAMPLES.shrink.answer, 1);
		expect(100 - dryWeight(100, 16.5, 15.5)).toBeCloseTo(1.1834, 4);
		const w = ground(new Writer());
		dump(w, 'A', lb(53_200), null);
		truckLoad(w, '1', lb(53_200), lb(53_200), { moisture_pct: 18.4 });
		const { sum } = totals(w.book, 'field', day);
		expect(sum.dry_kg / POUND_KG).toBeCloseTo(51_374, 0);
		// The crop table has the bushel to the gram (25.401 kg): 56 lb to 0.001 %.
		expect(sum.dry_bu).toBeCloseTo(EXAMPLES.bushels.answer, 1);
	});

	it('how many more dumps', () => {
		expect(repeatsNeeded(0.02, 0.02, 0.005, 3) - 3).toBe(EXAMPLES.more.answer);
		expect(repeatsNeeded(0.02, 0.02, 0.005, 9)).toBe(9);
		expect(repeatsNeeded(0.02, 0.005, 0.01)).toBe(Infinity);
	});

	it('each is worked on the page to the answer that is held here, and says where it can be looked up', () => {
		for (const [id, { answer, source }] of Object.entries(EXAMPLES)) {
			expect(source.length).toBeGreaterThan(5);
			const shown = en.book.workedSteps[id as keyof typeof EXAMPLES].join(' ');
			expect(shown).toContain(id === 'ratio' ? answer.toFixed(4) : String(answer));
		}
	});
});

describe('the cart against tickets', () => {
	const three = (more: (w: Writer) => void = () => {}) => {
		const w = ground(new Writer());
		for (let i = 0; i < 3; i++) {
			dump(w, 'A', 10_000, null);
			truckLoad(w, String(i), 10_000, 10_100 + i);
		}
		more(w);
		return scaleRatio(w.book, 'cart', 2026);
	};

	it('without tickets is 1 within the limits said, or 5 %', () => {
		const w = ground(new Writer(), { limit_pct: 1 });
		expect(scaleRatio(w.book, 'cart')).toMatchObject({ ratio: 1, source: 'limit', limit_rel: 0.01, n: 0 });
		// 95 % of a rectangle lie within 0.95 of its half-width.
		expect(scaleRatio(w.book, 'cart').interval[1]).toBeCloseTo(1.0095, 6);
		expect(scaleRatio(ground(new Writer()).book, 'cart').limit_rel).toBe(0.05);
	});

	it('leaves out a truck that also took grain straight from a combine', () => {
		const r = three((w) => {
			dump(w, 'A', 8000, null);
			const load = truckLoad(w, '9', 8000, 8080);
			w.add('ticket', { number: 'x', load, net_kg: 6000, combine: 'B', field: 'north' });
		});
		expect(r.n).toBe(3);
		expect(r.pairs.find((p) => !p.used)!.reason).toBe('straight');
	});

	it('leaves out a load that stands apart, and says which way', () => {
		const r = three((w) => {
			dump(w, 'A', 8000, null);
			truckLoad(w, '9', 8000, 9500);
		});
		expect(r.n).toBe(3);
		expect(r.pairs.at(-1)).toMatchObject({ used: false, reason: 'ticket over' });
	});

	it('counts a load of two tickets whole', () => {
		const r = three((w) => {
			dump(w, 'A', 10_000, null);
			const load = truckLoad(w, '9', 10_000, 5000);
			w.add('ticket', { number: 'second half', load, gross_kg: 15_101, tare_kg: 10_000 });
		});
		expect(r.n).toBe(4);
		expect(r.ratio).toBeCloseTo(40_404 / 40_000, 12);
	});

	it('belongs to a season: last year says nothing of this one', () => {
		const w = ground(new Writer());
		w.add('field', { name: 'Old', season: 2025, crop: 'corn' }, 'old');
		dump(w, 'A', 10_000, null, { field: 'old' });
		truckLoad(w, '1', 10_000, 10_500);
		expect(scaleRatio(w.book, 'cart', 2026).n).toBe(0);
		expect(scaleRatio(w.book, 'cart', 2025).ratio).toBeCloseTo(1.05, 12);
	});

	it('carries over to dumps weighed before the ticket came', () => {
		const w = ground(new Writer());
		dump(w, 'A', 10_000, 10_000);
		truckLoad(w, '1', 10_000, 10_100);
		expect(runningFactors(w.book)[0]!.value).toBeCloseTo(1.01, 4);
	});
});

describe('the running factor', () => {
	it('is near the ratio of sums; its interval holds the scale part', () => {
		const w = ground(new Writer(), { limit_pct: 1 });
		dump(w, 'A', 10_000, 10_300);
		dump(w, 'A', 12_000, 12_200);
		dump(w, 'A', 11_000, 11_400);
		const f = runningFactors(w.book)[0]!;
		expect(f.value).toBeCloseTo(33_000 / 33_900, 2);
		expect(f.n).toBe(3);
		const whole = f.interval!;
		const next = f.next!;
		expect(next[1] - next[0]).toBeGreaterThan(whole[1] - whole[0]);
		expect(f.course.at(-1)).toEqual({ load: 2, value: f.value, low: whole[0], high: whole[1] });
		for (const c of f.course) expect(c.high - c.low).toBeGreaterThan(0.9 * (whole[1] - whole[0]));
	});

	it('joins a tank that was not emptied with the dump after it', () => {
		const w = ground(new Writer());
		const a = dump(w, 'A', 4000, 6000, { emptied: 'no' });
		expect(bookFills(w.book).waiting).toEqual([{ dump: a, reason: 'not emptied' }]);
		const b = dump(w, 'A', 8000, 6000, { emptied: 'yes' });
		const { fills } = bookFills(w.book);
		expect(fills).toHaveLength(1);
		expect(fills[0]).toMatchObject({ dumps: [a, b], cart_kg: 12_000, monitor: [{ combine: 'A', kg: 12_000 }] });
	});

	it('takes running totals as differences, also over dumps at which nobody looked', () => {
		const w = ground(new Writer());
		const total = (value: number, d: string | null) =>
			w.add('reading', { combine: 'A', dump: d, field: 'north', how: 'total', value, unit: 'bu', basis: 'wet' });
		total(100, null);
		const a = dump(w, 'A', 5000, null);
		total(300, a);
		const b = dump(w, 'A', 5000, null);
		const c = dump(w, 'A', 5000, null);
		total(700, c);
		const { fills, waiting } = bookFills(w.book);
		expect(waiting).toEqual([]);
		expect(fills.map((f) => f.dumps)).toEqual([[a], [b, c]]);
		expect(fills[0]!.monitor[0]!.kg).toBeCloseTo(200 * 25.401, 9);
		expect(fills[1]!.monitor[0]!.kg).toBeCloseTo(400 * 25.401, 9);
	});

	it('makes a dry reading wet by the moisture shown, and waits for it where none is', () => {
		const w = ground(new Writer());
		const a = dump(w, 'A', 10_000, null);
		const dry = w.add('reading', {
			combine: 'A',
			dump: a,
			how: 'load',
			value: 9000,
			unit: 'kg',
			basis: 'dry',
			at_pct: 15.5,
		});
		expect(bookFills(w.book).waiting).toEqual([{ dump: a, reason: 'no moisture' }]);
		w.edit(dry, { moisture_pct: 22 });
		// 9000 × 84.5 / 78: at 22 % the two differ by 7.7 %, as the contract says.
		expect(bookFills(w.book).fills[0]!.monitor[0]!.kg).toBeCloseTo(9750, 9);
		expect(9750 / 9000 - 1).toBeCloseTo(0.083, 3);
	});

	it('parts one weight of both combines as their own factors say', () => {
		const w = ground(new Writer());
		for (let i = 0; i < 4; i++) {
			dump(w, 'A', 10_000, 9000 + i);
			dump(w, 'B', 10_000, 11_000 - i);
		}
		const both = w.add('dump', { number: 'AB', cart: 'cart', field: 'north', combines: ['A', 'B'], net_kg: 20_000 });
		for (const [combine, value] of [
			['A', 9000],
			['B', 11_000],
		] as const)
			w.add('reading', { combine, dump: both, how: 'load', value, unit: 'kg', basis: 'wet' });
		const [a, b] = runningFactors(w.book);
		expect(a!.value).toBeCloseTo(10 / 9, 3);
		expect(b!.value).toBeCloseTo(10 / 11, 3);
		expect(a!.points.at(-1)!.shared).toBe(true);
		// All weight is given to one or the other.
		expect(a!.points.at(-1)!.reference_kg + b!.points.at(-1)!.reference_kg).toBeCloseTo(20_000, 6);
	});

	it('begins anew once the monitor was recalibrated', () => {
		const w = ground(new Writer());
		dump(w, 'A', 10_000, 11_000);
		w.add('event', { combine: 'A', kind: 'calibrated', field: 'north', time_s: w.now_s });
		dump(w, 'A', 10_000, 10_100);
		dump(w, 'A', 10_000, 10_100);
		expect(runningFactors(w.book)[0]).toMatchObject({ n: 2, value: expect.closeTo(20_000 / 20_200, 4) });
	});

	it('leaves a dump that the operator set aside out of the factor, not out of the totals', () => {
		const w = ground(new Writer());
		dump(w, 'A', 10_000, 10_000);
		const odd = dump(w, 'A', 5000, 10_000);
		w.edit(odd, { aside: true }, 'weight taken while moving');
		expect(runningFactors(w.book)[0]!.value).toBe(1);
		expect(totals(w.book, 'field', day).sum.wet_kg).toBe(15_000);
	});
});

describe('two combines', () => {
	it('compare without the scale: its ratio cancels', () => {
		const make = (limit_pct: number) => {
			const w = ground(new Writer(), { limit_pct });
			for (let i = 0; i < 5; i++) {
				dump(w, 'A', 10_000, 10_400 + 10 * i);
				dump(w, 'B', 10_000, 9800 - 10 * i);
			}
			return running(w.book).against[0]!;
		};
		// All but what is known of any monitor, which is of its factor on this scale.
		expect(make(5).diff_pct).toBeCloseTo(make(1).diff_pct, 1);
		expect(make(5).interval_pct[1]).toBeCloseTo(make(1).interval_pct[1], 1);
		const d = make(5);
		expect(d).toMatchObject({ first: 'A', second: 'B', real: true });
		expect(Math.abs(d.diff_pct - 100 * (10_420 / 9780 - 1))).toBeLessThan(0.3);
	});

	it('says where a difference is not shown to be real', () => {
		const w = ground(new Writer());
		[10_400, 9700, 10_100].forEach((m, i) => {
			dump(w, 'A', 10_000, m);
			dump(w, 'B', 10_000, m + (i - 1) * 400);
		});
		expect(running(w.book).against[0]!.real).toBe(false);
	});
});

describe('moisture offsets of two combines in mixed loads', () => {
	it('are solved together', () => {
		const w = ground(new Writer());
		const shown = (d: string, combine: string, moisture_pct: number) =>
			w.add('reading', { combine, dump: d, how: 'load', value: 1, unit: 'lb', moisture_pct });
		// A's sensor reads 0.5 low, B's 0.3 high, whatever is in the load.
		[0.3, 0.5, 0.8].forEach((share, i) => {
			const a = dump(w, 'A', 20_000 * share, null);
			const b = dump(w, 'B', 20_000 * (1 - share), null);
			shown(a, 'A', 17 - 0.5);
			shown(b, 'B', 18 + 0.3);
			truckLoad(w, String(i), 20_000, 20_000, { moisture_pct: 17 * share + 18 * (1 - share) });
		});
		const [a, b] = moistureOffsets(w.book);
		expect(a!.offset_pct).toBeCloseTo(0.5, 9);
		expect(b!.offset_pct).toBeCloseTo(-0.3, 9);
	});
});

describe('totals', () => {
	function season() {
		const w = ground(new Writer());
		w.add('field', { name: 'South', season: 2026, crop: 'corn', landlord: 'Ruth Amsel', landlord_pct: 40 }, 'south');
		w.add('destination', { name: 'Mill', shrink_pct_per_point: 1.4, handling_pct: 0.5 }, 'mill');
		dump(w, 'A', 10_000, null, { variety: 'V1' });
		dump(w, 'B', 6000, null, { field: 'south', variety: 'V2' });
		const load = w.add('load', { number: '1', truck: 'red', destination: 'mill', opened_s: w.now_s });
		w.add('offload', { number: 'O1', cart: 'cart', load, net_kg: 16_000 });
		w.add('ticket', { number: 'T1', load, net_kg: 16_160, moisture_pct: 18.5 });
		dump(w, 'A', 5000, null, { split: { south: 0.25 } });
		return w;
	}

	it('close whatever they are drawn up by', () => {
		const w = season();
		const sums = (['field', 'share', 'truck', 'destination', 'variety', 'day', 'combine'] as const).map((by) => {
			const { rows, sum } = totals(w.book, by, day);
			const wet = rows.reduce((s, r) => s + r.wet_kg, 0);
			const dry = rows.reduce((s, r) => s + r.dry_bu, 0);
			expect(wet).toBeCloseTo(sum.wet_kg, 6);
			expect(dry).toBeCloseTo(sum.dry_bu, 6);
			return sum;
		});
		for (const s of sums) expect(s).toEqual({ ...sums[0]!, key: '', name: '' });
		// A certified load counts as its ticket says, what is still in the cart by the ratio.
		expect(sums[0]!.wet_kg).toBeCloseTo(16_160 + 5000 * 1.01, 6);
	});

	it('split a load of two fields by weight, and a dump by the share told', () => {
		const { rows } = totals(season().book, 'field', day);
		const [north, south] = [rows.find((r) => r.key === 'north')!, rows.find((r) => r.key === 'south')!];
		expect(north.wet_kg).toBeCloseTo(10_100 + 0.75 * 5050, 6);
		expect(south.wet_kg).toBeCloseTo(6060 + 0.25 * 5050, 6);
	});

	it('give the landlord his share', () => {
		const { rows } = totals(season().book, 'share', day);
		expect(rows.find((r) => r.key === 'Ruth Amsel')!.wet_kg).toBeCloseTo(0.4 * (6060 + 0.25 * 5050), 6);
	});

	it("keep water and the buyer's rule apart", () => {
		const { rows } = totals(season().book, 'destination', day);
		const mill = rows.find((r) => r.key === 'mill')!;
		expect(mill.dry_kg).toBeCloseTo((16_160 * 81.5) / 84.5, 6);
		expect(mill.water_kg).toBeCloseTo(16_160 - (16_160 * 81.5) / 84.5, 6);
		// 3 points × 1.4 % + 0.5 % = 4.7 %.
		expect(mill.shrink_kg).toBeCloseTo(16_160 * 0.047, 6);
		expect(rows.find((r) => r.key === '')!.shrink_kg).toBeNull();
	});

	it('say what grain has no moisture known', () => {
		const w = ground(new Writer());
		dump(w, 'A', 10_000, null);
		const { sum } = totals(w.book, 'field', day);
		expect(sum).toMatchObject({ wet_kg: 10_000, unknown_kg: 10_000, dry_kg: 0, moisture_pct: null });
	});

	it('hold grain that went straight from a combine into a truck', () => {
		const w = ground(new Writer());
		const load = w.add('load', { number: '1', truck: 'red' });
		w.add('ticket', { number: 'T1', load, net_kg: 9000, combine: 'A', field: 'north', moisture_pct: 16 });
		expect(pieces(w.book)).toMatchObject([{ field: 'north', truck: 'red', wet_kg: 9000, basis: 'ticket', dump: null }]);
	});
});

describe('the day of thirty dumps', () => {
	it('has what it says it has, and finds the errors put in', () => {
		const acts = dayActs();
		expect(['dump', 'offload', 'ticket'].map((k) => acts.filter((a) => a.do === k).length)).toEqual([30, 10, 4]);
		const w = dayBook();
		const [a, b] = runningFactors(w.book, { field: 'f', season: 2026 });
		expect(scaleRatio(w.book, 'c', 2026)).toMatchObject({ n: 4, source: 'tickets' });
		for (const [f, true_pct] of [
			[a!, 4],
			[b!, -2],
		] as const) {
			expect(f.n).toBe(15);
			expect(f.errorInterval_pct![0]).toBeLessThan(true_pct);
			expect(f.errorInterval_pct![1]).toBeGreaterThan(true_pct);
			expect(f.errorInterval_pct![1] - f.errorInterval_pct![0]).toBeLessThan(1.6);
		}
		expect(cropNamed('corn')!.market_moisture_pct).toBe(15.5);
	});
});
