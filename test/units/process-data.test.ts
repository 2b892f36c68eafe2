import * as entries from 'isoxml/dist/DDEntities.js';
import { describe, expect, it } from 'vitest';
import { CROPS, unitFactor } from '../../lib/units/index.ts';

/** ISO 11783-11's entries as the npm package isoxml carries them. */
const ENTRIES = ((entries.default as { default?: unknown }).default ?? entries.default) as Record<
	string,
	{ name: string; unit: string; bitResolution: number }
>;

describe('process data of ISO 11783-11', () => {
	it.each([
		['84', 'mg/m²', 'mass per area', 0.01],
		['87', 'mg/s', 'mass per time', 1e-6],
		['90', 'kg', 'mass', 1],
		['99', 'ppm', 'share', 1e-4],
	] as const)('entry %s counts in %s', (entry, unit, kind, size) => {
		const { unit: stated, bitResolution } = ENTRIES[entry]!;
		expect(stated).toBe(unit);
		expect(bitResolution).toBe(1);
		expect(unitFactor(unit.replace('²', '2'), kind, CROPS[0]!)).toBeCloseTo(size, 12);
	});

	it('entry 240 is a status, not a quantity', () => {
		expect(ENTRIES['240']?.unit ?? '').toMatch(/^(n\.a\.)?$/);
	});
});
