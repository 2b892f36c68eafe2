import { describe, expect, it } from 'vitest';
import { fromOklab, type Rgb, toOklab } from '../../lib/units/index.ts';
import { diverging, type SequentialName, sequentialScales } from '../../viewer/map/layers/color.ts';

/**
 * Deuteranopia and protanopia at full strength: Machado, Oliveira and Fernandes 2009, IEEE Transactions on
 * Visualization and Computer Graphics 15:1291, table 1 (severity 1.0; matrices act on linear RGB; from memory).
 */
const blind = {
	protan: [0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998],
	deutan: [0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.01182, 0.04294, 0.968881],
};

function seenBy(kind: keyof typeof blind, rgb: Rgb): Rgb {
	const m = blind[kind];
	const linear = rgb.map((c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
	return [0, 1, 2].map((r) => {
		const x = Math.min(
			1,
			Math.max(0, m[3 * r]! * linear[0]! + m[3 * r + 1]! * linear[1]! + m[3 * r + 2]! * linear[2]!),
		);
		return 255 * (x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055);
	}) as Rgb;
}

const distance = (a: Rgb, b: Rgb) => {
	const [p, q] = [toOklab(a), toOklab(b)];
	return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
};

describe('color scales', () => {
	it('turns sRGB to OKLab and back', () => {
		// Ottosson's own check: white is L 1, a and b 0.
		const white = toOklab([255, 255, 255]);
		expect(white[0]).toBeCloseTo(1, 3);
		expect(Math.abs(white[1])).toBeLessThan(1e-3);
		for (const c of [
			[12, 200, 77],
			[255, 0, 0],
			[17, 17, 90],
		] as Rgb[])
			expect(fromOklab(toOklab(c)).every((v, i) => Math.abs(v - c[i]!) <= 1)).toBe(true);
	});

	it.each(Object.keys(sequentialScales) as SequentialName[])('%s runs evenly in lightness, one way', (name) => {
		const light = Array.from({ length: 33 }, (_, i) => toOklab(sequentialScales[name](i / 32))[0]);
		const steps = light.slice(1).map((l, i) => l - light[i]!);
		expect(steps.every((s) => Math.sign(s) === Math.sign(steps[0]!))).toBe(true);
		const mean = Math.abs(light.at(-1)! - light[0]!) / 32;
		// No step is more than twice the mean one: none looks like an edge that is not there.
		expect(Math.max(...steps.map(Math.abs))).toBeLessThan(2 * mean);
	});

	it.each(Object.keys(sequentialScales) as SequentialName[])(
		'%s keeps eight classes apart for the color-blind',
		(name) => {
			for (const kind of ['protan', 'deutan'] as const) {
				const classes = Array.from({ length: 8 }, (_, i) => seenBy(kind, sequentialScales[name](i / 7)));
				for (let i = 1; i < 8; i++) expect(distance(classes[i]!, classes[i - 1]!)).toBeGreaterThan(0.04);
			}
		},
	);

	it('shows change as far below as above, and which is which to the color-blind', () => {
		for (const kind of ['protan', 'deutan'] as const) {
			expect(distance(seenBy(kind, diverging(0.1)), seenBy(kind, diverging(0.9)))).toBeGreaterThan(0.12);
		}
		expect(toOklab(diverging(0.5))[0]).toBeGreaterThan(toOklab(diverging(0.1))[0] + 0.3);
	});
});
