import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { timeFromText } from '../../lib/read/time/parse-time.ts';
import { Zone } from '../../lib/units/zone.ts';

const utc = (text: string) => {
	const time = timeFromText(text);
	return time === null ? null : time.reading_s - time.offset_s;
};

describe('ISO 8601', () => {
	test('agrees with Date.parse', () => {
		const date = fc.date({
			min: new Date('1970-01-01T00:00:00Z'),
			max: new Date('2200-01-01T00:00:00Z'),
			noInvalidDate: true,
		});
		fc.assert(
			fc.property(date, fc.integer({ min: -12, max: 14 }), fc.constantFrom(0, 30, 45), (d, hours, minutes) => {
				const text = d.toISOString();
				expect(utc(text)).toBeCloseTo(d.getTime() / 1000, 6);
				const sign = hours < 0 ? '-' : '+';
				const two = (n: number) => String(Math.abs(n)).padStart(2, '0');
				const local = `${text.slice(0, 19)}${sign}${two(hours)}:${two(minutes)}`;
				expect(utc(local)).toBeCloseTo(Date.parse(local) / 1000, 6);
			}),
		);
	});

	test.each<[string, string | null]>([
		['2026-10-03T14:05:09.25Z', 'second'],
		['2026-10-03 14:05:09+0130', 'second'],
		['2026-10-03T14:05Z', 'minute'],
		['2026-10-03', 'day'],
		['2024-02-29', 'day'],
		['2026-02-29', null],
		['2026-13-01', null],
		['2026-10-03T25:00:00Z', null],
		['2026-10-03T14:61:00Z', null],
		['10/03/2026 14:05', null],
		['2026-10-03T14:05:09.Z', null],
		['2026-10-03T14:05:09 CDT', null],
		['noon', null],
		['', null],
	])('%s is known to the %s', (text, grain) => expect(timeFromText(text)?.grain ?? null).toBe(grain));
});

describe('time zones', () => {
	/** The reading of a zone's clock, as if it were UTC. */
	const reading = (text: string) => Date.parse(`${text}Z`) / 1000;

	test.each([
		// Chicago: summer −5 h, winter −6 h; Lord Howe shifts by half an hour; India is at +5:30; Apia skipped a day in 2011.
		['America/Chicago', '2026-10-03T14:05:00', '2026-10-03T19:05:00Z'],
		['America/Chicago', '2026-12-03T14:05:00', '2026-12-03T20:05:00Z'],
		['Australia/Lord_Howe', '2026-01-10T12:00:00', '2026-01-10T01:00:00Z'],
		['Australia/Lord_Howe', '2026-07-10T12:00:00', '2026-07-10T01:30:00Z'],
		['Asia/Kolkata', '2026-07-10T12:00:00', '2026-07-10T06:30:00Z'],
		['Etc/UTC', '2026-07-10T12:00:00', '2026-07-10T12:00:00Z'],
		['Pacific/Apia', '2011-12-31T12:00:00', '2011-12-30T22:00:00Z'],
	])('%s: %s is %s', (name, local, wanted) => {
		expect(new Zone(name).utc_s(reading(local))).toBe(Date.parse(wanted) / 1000);
	});

	test('the hour skipped in spring is read on by the old rule', () => {
		// 8 March 2026, 2:00 → 3:00 in Chicago: 2:30 does not exist and is taken as 3:30 summer time.
		expect(new Zone('America/Chicago').utc_s(reading('2026-03-08T02:30:00'))).toBe(
			Date.parse('2026-03-08T08:30:00Z') / 1000,
		);
	});

	test('the hour shown twice in autumn follows the row before', () => {
		// 1 November 2026, 2:00 → 1:00 in Chicago.
		const zone = new Zone('America/Chicago');
		const first = Date.parse('2026-11-01T06:30:00Z') / 1000;
		const again = reading('2026-11-01T01:30:00');
		expect(zone.utc_s(again)).toBe(first);
		expect(zone.utc_s(again, first - 60)).toBe(first);
		expect(zone.utc_s(again, first + 3540)).toBe(first + 3600);
	});

	test('a night of harvest across the change runs on without a jump', () => {
		const zone = new Zone('America/Chicago');
		const start = Date.parse('2026-11-01T05:30:00Z') / 1000;
		let after = Number.NaN;
		for (let t = start; t < start + 3 * 3600; t += 60) {
			const local = t + zone.offset_s(t);
			after = zone.utc_s(local, after);
			expect(after).toBe(t);
		}
	});

	test('a name that is none is refused', () => expect(() => new Zone('Corn/Belt')).toThrow(RangeError));
});
