import { describe, expect, test } from 'vitest';
import { packScene, type Scene, unpackScene } from '../../lib/model/index.ts';

/** Columns of three records and a grid of two cells, each value another. */
function small(): Scene {
	let value = 0;
	const floats = (n: number) => Float32Array.from({ length: n }, () => ++value);
	return {
		n: 3,
		facts: { name: 'Ä field' } as unknown as Scene['facts'],
		corners_m: floats(24),
		time_s: Float64Array.of(1.5, 2.5, 1e9),
		combine: Uint8Array.of(0, 1, 1),
		flag: Uint8Array.of(0, 2, 16),
		fill: Int32Array.of(-1, 0, 7),
		pass: Int32Array.of(-1, 3, 4),
		area_m2: floats(3),
		account_kg: floats(3),
		factor: floats(3),
		monitor_kg_ha: floats(3),
		corrected_kg_ha: floats(3),
		u_rel: floats(3),
		common_rel: floats(3),
		moisture_pct: floats(3),
		speed_m_s: floats(3),
		flow_kg_s: floats(3),
		gridYield_kg_ha: floats(2),
		gridSe_kg_ha: floats(2),
		gridMonitor_kg_ha: floats(2),
	};
}

describe('a packed scene', () => {
	test('is the same when unpacked; its columns look into the block', () => {
		const block = packScene(small()).buffer;
		const scene = unpackScene(block);
		expect(scene).toEqual(small());
		expect(scene.time_s.buffer).toBe(block);
	});

	test('begins with its letters and version, little-endian, and is a whole number of eight bytes', () => {
		const bytes = packScene(small());
		expect([...bytes.subarray(0, 8)]).toEqual([...new TextEncoder().encode('STLY'), 1, 0, 0, 0]);
		expect(bytes.length % 8).toBe(0);
		const columns = Object.values(small()).reduce(
			(sum: number, x) => sum + (ArrayBuffer.isView(x) ? x.byteLength : 0),
			0,
		);
		const header = new DataView(bytes.buffer).getUint32(8, true);
		expect(bytes.length).toBeGreaterThanOrEqual(12 + header + columns);
		expect(bytes.length).toBeLessThanOrEqual(12 + header + columns + 7 * 21);
	});

	test('anything else is refused', () => {
		expect(() => unpackScene(new ArrayBuffer(8))).toThrow('not a packed scene');
		expect(() => unpackScene(new ArrayBuffer(64))).toThrow('not a packed scene');
		const later = packScene(small());
		later[4] = 2;
		expect(() => unpackScene(later.buffer)).toThrow('another version');
	});
});
