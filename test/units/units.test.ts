import { describe, expect, test } from 'vitest';
import type { Crop } from '../../lib/model/index.ts';
import * as u from '../../lib/units/index.ts';

const corn = u.cropNamed('corn') as Crop;

describe('constants', () => {
	test('pound and acre as in NIST Handbook 44, Appendix C', () => {
		expect(u.POUND_KG).toBe(0.45359237);
		expect(u.ACRE_M2).toBeCloseTo(4046.8564224, 9);
	});

	test('US bushel of volume is 35.239 07 L (NIST Handbook 44, Appendix C)', () => {
		expect(u.BUSHEL_L).toBeCloseTo(35.23907, 5);
	});
});

describe('the sentence on a monitor', () => {
	const sentence = (value: number, pct: number) =>
		u.monitorSentence(
			{
				statements: [{ what: 'monitor_error', about: 'A', value: pct, unit: '%', interval: [pct - 1, pct + 1] }],
				combines: { A: { factor: { value, source: 'dumps' } } },
			} as never,
			'A',
		);
	test('says how far off it is', () => {
		expect(sentence(1 / 1.05, 5)).toBe('A reads 5.0% high (95% interval 4.0 to 6.0%).');
	});
	test('says first what may be wrong where no monitor is that far off', () => {
		expect(sentence(1 / 2.205, 120.5)).toMatch(/^A: check the units .* would read 120\.5% high/);
		expect(sentence(2.205, -54.6)).toMatch(/^A: check the units .* would read 54\.6% low/);
	});
});

describe('crops', () => {
	// Customary US bushel weights in pounds (from memory; corn, soybeans, wheat, barley, oats, rye also in the method).
	test.each([
		['corn', 56, 15.5],
		['soybeans', 60, 13],
		['wheat', 60, 13.5],
		['barley', 48, 14.5],
		['oats', 32, 14],
		['rye', 56, 14],
		['sorghum', 56, 14],
		['canola', 50, 10],
	])('%s: %d lb a bushel, market moisture %d %%', (name, lb, moisture) => {
		const crop = u.cropNamed(name) as Crop;
		expect(Math.abs(crop.bushel_kg - lb * u.POUND_KG)).toBeLessThanOrEqual(0.0006);
		expect(crop.market_moisture_pct).toBe(moisture);
	});

	test('case and blanks do not matter, other names are not known', () => {
		expect(u.cropNamed(' Corn ')?.name).toBe('corn');
		expect(u.cropNamed('maize')).toBeNull();
		expect(u.cropNamed('__proto__')).toBeNull();
	});
});

describe('conversions', () => {
	// One unit in SI by plain arithmetic from the exact pound, foot and acre, beside the library's tables.
	test.each<[string, u.Kind, number]>([
		['kg', 'mass', 1],
		['t', 'mass', 1000],
		['lb', 'mass', 0.45359237],
		['bu', 'mass', 25.401],
		['s', 'time', 1],
		['min', 'time', 60],
		['h', 'time', 3600],
		['m', 'length', 1],
		['km', 'length', 1000],
		['ft', 'length', 0.3048],
		['in', 'length', 0.0254],
		['mi', 'length', 1609.344],
		['kg/s', 'mass per time', 1],
		['lb/s', 'mass per time', 0.45359237],
		['t/h', 'mass per time', 0.2777777777777778],
		['bu/h', 'mass per time', 0.007055833333333333],
		['kg/ha', 'mass per area', 1],
		['t/ha', 'mass per area', 1000],
		['lb/ac', 'mass per area', 1.12085115615],
		['bu/ac', 'mass per area', 62.76723794647],
		['m/s', 'speed', 1],
		['km/h', 'speed', 0.2777777777777778],
		['mph', 'speed', 0.44704],
		['%', 'share', 1],
	])('%s', (unit, kind, expected) => {
		expect(u.unitFactor(unit, kind, corn)).toBeCloseTo(expected, 8);
		expect(u.unitsOf(kind).map((of) => of.name)).toContain(unit);
	});

	test('a unit of another kind, or none, is refused', () => {
		expect(u.unitFactor('kg', 'time', corn)).toBeNull();
		expect(u.unitFactor('stone', 'mass', corn)).toBeNull();
		expect(u.unitFactor('constructor', 'mass', corn)).toBeNull();
	});

	test('kilograms, hectares and kg/ha of corn in pounds, acres and bushels per acre', () => {
		expect(u.toShown(12_553.4, 'yield', 'us', corn)).toBeCloseTo(200, 2);
		expect(u.acFromHa(32.374_851_4)).toBeCloseTo(80, 6);
		expect(u.lbFromKg(25.401_172_72)).toBeCloseTo(56, 8);
	});
});

describe('dry weight', () => {
	test('extension shrink table: 1,000 lb at 25.5 % → 881.7 lb', () => {
		expect(u.dryWeight(1000, 25.5, 15.5)).toBeCloseTo(881.7, 1);
	});

	test('at 22 % moisture wet and dry differ by 7.7 % (the contract’s remark)', () => {
		expect(100 * (1 - u.dryWeight(1, 22, 15.5))).toBeCloseTo(7.7, 1);
	});

	test('wet weight is the way back', () => {
		expect(u.wetWeight(u.dryWeight(123, 21, 15.5), 21, 15.5)).toBeCloseTo(123, 10);
	});

	test('a buyer’s shrink of 1.4 % a point and 0.5 % handling is its own rule', () => {
		expect(u.paidWeight(1000, 20.5, 15.5, { shrink_pct_per_point: 1.4, handling_pct: 0.5 })).toBeCloseTo(925, 9);
		expect(u.paidWeight(1000, 12, 15.5, { shrink_pct_per_point: 1.4, handling_pct: 0 })).toBe(1000);
	});
});

describe('display', () => {
	test.each<[number, u.Quantity, string, string]>([
		[12_553.4, 'yield', '200.0 bu/ac', '12.55 t/ha'],
		[6235, 'mass', '13,746 lb', '6,235 kg'],
		[25_401, 'grain', '1,000 bu', '25.40 t'],
		[23.7, 'area', '58.56 ac', '23.70 ha'],
		[1.8, 'speed', '4.0 mph', '6.5 km/h'],
		[9.144, 'length', '30.0 ft', '9.1 m'],
		[3600, 'distance', '2.24 mi', '3.60 km'],
		[18.25, 'flow', '40.2 lb/s', '18.3 kg/s'],
		[18.25, 'throughput', '2,587 bu/hr', '65.7 t/h'],
		[18.24, 'moisture', '18.2%', '18.2%'],
		[72.08, 'testWeight', '56.0 lb/bu', '72.1 kg/hl'],
	])('%d as %s', (value, quantity, us, metric) => {
		expect(u.formatQuantity(value, quantity, 'us', corn)).toBe(us);
		expect(u.formatQuantity(value, quantity, 'metric', corn)).toBe(metric);
	});

	test('no number is a dash, nothing has no sign, below nothing has a true minus', () => {
		expect(u.formatQuantity(Number.NaN, 'mass', 'us', corn)).toBe('–');
		expect(u.formatNumber(null, 1)).toBe('–');
		expect(u.formatNumber(-0.04, 1)).toBe('0.0');
		expect(u.formatNumber(-4.76, 2)).toBe('−4.76');
	});

	test('fewer digits than none: rounded to tens, hundreds', () => {
		expect(u.formatNumber(128_438, -2)).toBe('128,400');
		expect(u.formatSigned(-10_032, -2)).toBe('−10,000');
		expect(u.formatSigned(-32, -2)).toBe('0');
	});
});
