/** What the pages work out themselves, without a browser. */
import { describe, expect, it } from 'vitest';
import { packScene, unpackScene } from '../../lib/model/index.ts';
import { breaksFor, histogram, moveBreak, sortedSample } from '../../viewer/map/layers/breaks.ts';
import { planeOf } from '../../viewer/map/layers/plane.ts';
import { gridQuads, swathQuads } from '../../viewer/map/layers/quads.ts';
import { cellAt } from '../../viewer/map/tools/cell.ts';
import { picker } from '../../viewer/map/tools/pick.ts';
import { totalsOf } from '../../viewer/map/tools/totals.ts';
import { withEdits } from '../../viewer/panels/work/field-json.ts';
import { strings } from '../../viewer/strings/index.ts';
import { ran, smallRun } from './sample.ts';
import { handScene } from './scene.ts';

describe('progress', () => {
	it('has words for every stage', async () => {
		const { files } = await smallRun();
		const seen = new Set<string>();
		await ran(files, { step: (stage) => seen.add(stage) });
		expect(seen.size).toBeGreaterThan(4);
		expect(Object.keys(strings.work.stages)).toEqual(expect.arrayContaining([...seen]));
	});
});

describe('packed scene', () => {
	it('comes back as it went in', () => {
		const scene = handScene({ passes: 8, length: 20 });
		const back = unpackScene(packScene(scene).buffer);
		expect(back.n).toBe(scene.n);
		expect(back.facts.combines).toEqual(['A', 'B']);
		for (const [name, column] of Object.entries(scene)) {
			if (ArrayBuffer.isView(column)) expect(back[name as 'fill'], name).toEqual(column);
		}
	});

	it('refuses other bytes', () => {
		expect(() => unpackScene(new TextEncoder().encode('{"a": 1, "b": 2}').buffer as ArrayBuffer)).toThrow(
			'not a packed scene',
		);
	});
});

describe('breaks', () => {
	const values = Float32Array.from({ length: 1000 }, (_, i) => (i < 500 ? 10 + i / 500 : 50 + i / 500));
	const sorted = sortedSample(values);

	it('cuts equal steps, equal ground, and where the gap is', () => {
		const equal = breaksFor(sorted, 'equal', 4, false);
		expect(equal[2]! - equal[1]!).toBeCloseTo(equal[1]! - equal[0]!, 9);
		const quantile = breaksFor(sorted, 'quantile', 4, false);
		expect(quantile[1]!).toBeCloseTo(10.5, 1);
		const natural = breaksFor(sorted, 'natural', 2, false);
		expect(natural[1]!).toBeGreaterThan(11);
		expect(natural[1]!).toBeLessThan(51);
	});

	it('is as wide below nothing as above for a change', () => {
		const b = breaksFor(sortedSample([-2, -1, 0, 5]), 'smooth', 7, true);
		expect(b[0]).toBe(-b[1]!);
	});

	it('keeps breaks in order when one is dragged past another', () => {
		const moved = moveBreak([0, 10, 20, 30], 1, 99);
		expect(moved[1]!).toBeLessThan(20);
		expect(moved[1]!).toBeGreaterThan(19);
	});

	it('counts every finite value once', () => {
		expect(histogram([1, 2, Number.NaN, 99, -5], 0, 10, 5).reduce((a, b) => a + b)).toBe(4);
	});
});

describe('ground', () => {
	const scene = handScene({ passes: 8, length: 20 });

	it('finds the record under its own middle', () => {
		const pick = picker(scene);
		for (const i of [4, 63, 158]) {
			const c = scene.corners_m.subarray(8 * i, 8 * i + 8);
			expect(pick.at((c[0]! + c[4]!) / 2, (c[1]! + c[5]!) / 2)).toBe(i);
		}
		expect(pick.at(5000, 5000)).toBe(-1);
	});

	it('finds the cell of the grid', () => {
		const [x, y] = scene.facts.grid!.corners_m[0]!;
		expect(cellAt(scene, x + 14, y + 1)).toBe(1);
		expect(cellAt(scene, x + 1, y + 24)).toBe(2 * scene.facts.grid!.columns);
		expect(cellAt(scene, x - 1, y + 1)).toBe(-1);
	});

	it('goes to degrees and back', () => {
		const plane = planeOf(scene.facts.origin);
		const [lon, lat] = plane.toDegrees(321, -123);
		const [x, y] = plane.toLocal(lon, lat);
		expect(x).toBeCloseTo(321, 6);
		expect(y).toBeCloseTo(-123, 6);
	});

	it('draws every record that cut ground, and every cell that has a value', () => {
		const holed = handScene({ passes: 8, length: 20 });
		holed.corners_m.fill(Number.NaN, 8 * 5, 8 * 6);
		expect(swathQuads(holed).full.length).toBe(6 * (holed.n - 1));
		holed.gridYield_kg_ha[3] = Number.NaN;
		expect(gridQuads(holed).full.length).toBe(6 * (holed.gridYield_kg_ha.length - 1));
	});

	it('thins a large field without losing ground', () => {
		const large = handScene({ passes: 100, length: 1000 });
		const quads = swathQuads(large);
		expect(quads.thin.length / 6).toBeLessThan(20_000);
		// The area of the thinned quads is that of all of them.
		const area = (index: Uint32Array) => {
			let sum = 0;
			for (let k = 0; k < index.length; k += 3) {
				const [a, b, c] = [index[k]!, index[k + 1]!, index[k + 2]!].map((v) => [
					large.corners_m[2 * v]!,
					large.corners_m[2 * v + 1]!,
				]) as [number[], number[], number[]];
				sum += Math.abs((b[0]! - a[0]!) * (c[1]! - a[1]!) - (c[0]! - a[0]!) * (b[1]! - a[1]!)) / 2;
			}
			return sum;
		};
		expect(area(quads.thin) / area(quads.full)).toBeCloseTo(1, 3);
	});
});

describe('totals of a selection', () => {
	const scene = handScene();

	it('adds up to the field, whichever way it is cut', () => {
		const all = totalsOf(scene, null);
		const a = totalsOf(
			scene,
			Uint8Array.from(scene.combine, (c) => (c === 0 ? 1 : 0)),
		);
		const b = totalsOf(
			scene,
			Uint8Array.from(scene.combine, (c) => (c === 1 ? 1 : 0)),
		);
		expect(a.dry_kg + b.dry_kg).toBeCloseTo(all.dry_kg, 3);
		expect(a.area_ha + b.area_ha).toBeCloseTo(all.area_ha, 6);
		// The scene was made with factors 0.925 and 1.012.
		expect(a.dry_kg / a.monitor_dry_kg).toBeCloseTo(0.925, 5);
		expect(b.dry_kg / b.monitor_dry_kg).toBeCloseTo(1.012, 5);
	});

	it('is less sure of little ground than of much, and never surer than the factor', () => {
		const few = totalsOf(
			scene,
			Uint8Array.from(scene.fill, (_, i) => (i < 40 ? 1 : 0)),
		);
		const many = totalsOf(
			scene,
			Uint8Array.from(scene.combine, (c) => (c === 0 ? 1 : 0)),
		);
		expect(few.half_rel).toBeGreaterThan(many.half_rel);
		expect(many.half_rel).toBeGreaterThan(1.96 * 0.0031);
	});
});

describe('field.json', () => {
	it('takes the pins and keeps everything else', () => {
		const text = JSON.stringify({ name: 'x', unknown: [1, 2], pins: { clock_offset_s: 3 } });
		const json = JSON.parse(withEdits(text, { pins: { dumps: { D1: { status: 'aside' } } }, flags: { narrow: 2 } }));
		expect(json).toEqual({
			name: 'x',
			unknown: [1, 2],
			pins: { dumps: { D1: { status: 'aside' } } },
			flags: { narrow: 2 },
		});
	});
});
