import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { utmProjection, utmZone } from '../../lib/geo/utm.ts';
import { ByteWriter } from '../../lib/write/bytes/byte-writer.ts';
import { Degrees } from '../../lib/write/bytes/degrees.ts';
import { Stamp } from '../../lib/write/bytes/stamp.ts';

const text = (write: (writer: ByteWriter) => void) => {
	const writer = new ByteWriter();
	write(writer);
	return new TextDecoder().decode(writer.drain());
};
const fixed = (value: number, decimals: number) => text((writer) => writer.fixed(value, decimals));
/** As `toFixed` rounds; what rounds to nothing has no sign. */
const expected = (value: number, decimals: number) => {
	const wanted = value.toFixed(decimals);
	return /[1-9]/.test(wanted) ? wanted : wanted.replace('-', '');
};

describe('numbers with fixed decimals', () => {
	test.each<[number, number, string]>([
		[0, 2, '0.00'],
		[-0.001, 2, '0.00'],
		[-0, 0, '0'],
		[1.005, 2, '1.00'],
		[1.045, 2, '1.04'],
		[0.5, 0, '1'],
		[2.5, 0, '3'],
		[-93.978421, 7, '-93.9784210'],
		[214.7483647, 7, '214.7483647'],
		[214.7483648, 7, '214.7483648'],
		[9_999_999_999.995, 2, '10000000000.00'],
		[123_456_789_012.5, 1, '123456789012.5'],
		[0.000001, 6, '0.000001'],
		[999.9996, 3, '1000.000'],
		[1e15, 2, '1000000000000000.00'],
	])('%d with %d decimals', (value, decimals, wanted) => {
		expect(fixed(value, decimals)).toBe(wanted);
	});

	test('agrees with toFixed on any number', () => {
		const numbers = fc.oneof(
			fc.double({ min: -1e14, max: 1e14, noNaN: true }),
			fc.double({ min: -400, max: 400, noNaN: true }),
			fc.double({ min: -1e-3, max: 1e-3, noNaN: true }),
			// Ties and their neighbors, where a product of doubles rounds the wrong way.
			fc
				.tuple(fc.integer({ min: -2_000_000, max: 2_000_000 }), fc.integer({ min: 0, max: 9 }))
				.map(([k, d]) => (k + 0.5) / 10 ** d),
			fc.integer({ min: -(2 ** 53), max: 2 ** 53 }),
		);
		fc.assert(
			fc.property(numbers, fc.integer({ min: 0, max: 9 }), (value, decimals) => {
				expect(fixed(value, decimals)).toBe(expected(value, decimals));
			}),
			{ numRuns: 20_000 },
		);
	});

	test('what is no finite number leaves nothing', () => {
		expect(fixed(Number.NaN, 2) + fixed(Infinity, 2) + fixed(-Infinity, 0)).toBe('');
	});

	test('long texts and many of them fit', () => {
		const long = 'ü'.repeat(200_000);
		expect(text((writer) => writer.text(long))).toBe(long);
	});
});

describe('times', () => {
	test('as ISO 8601 prints them, over days and fractions', () => {
		fc.assert(
			fc.property(fc.integer({ min: 631_152_000_000, max: 4_102_444_799_999 }), (ms) => {
				const stamp = new Stamp();
				const wanted = new Date(ms).toISOString().replace('.000Z', 'Z');
				expect(text((writer) => stamp.write(writer, ms / 1000))).toBe(wanted);
			}),
		);
		expect(text((writer) => new Stamp().write(writer, Number.NaN))).toBe('');
	});
});

describe('meters back to degrees', () => {
	test.each([
		[-93.9784, 43.9273],
		[9.02, 54.3],
		[148.9, -33.4],
		[-58.1, -34.9],
		[24.1, 67.9],
	])('within 1e-9 degrees of the projection around %d, %d', (lon, lat) => {
		const zone = utmZone(lon, lat);
		const projection = utmProjection(zone);
		const degrees = new Degrees(zone);
		const [x0, y0] = projection.forward(lon, lat);
		for (let k = 0; k < 500; k++) {
			const x = x0 + 3000 * Math.sin(k * 1.7);
			const y = y0 + 3000 * Math.cos(k * 2.3);
			const [wantedLon, wantedLat] = projection.inverse(x, y);
			degrees.of(x, y);
			expect(Math.abs(degrees.lon - wantedLon)).toBeLessThan(1e-9);
			expect(Math.abs(degrees.lat - wantedLat)).toBeLessThan(1e-9);
		}
		degrees.of(Number.NaN, y0);
		expect(degrees.lon).toBeNaN();
	});
});
