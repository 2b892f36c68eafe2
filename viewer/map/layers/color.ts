/** Color scales: perceptually even (lightness runs evenly in OKLab) and safe for the color-blind. */
import { interpolateCividis, interpolateViridis } from 'd3-scale-chromatic';

export type Rgb = [number, number, number];
/** Maps 0…1 to red, green and blue, 0…255. */
export type ColorScale = (t: number) => Rgb;

export type SequentialName = 'straw' | 'cividis' | 'viridis' | 'gray';

/** OKLab (Björn Ottosson, https://bottosson.github.io/posts/oklab/), from and to sRGB of 0…255. */
export function toOklab([r, g, b]: Rgb): [number, number, number] {
	const [lr, lg, lb] = [r, g, b].map((c) => {
		const x = c / 255;
		return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4;
	}) as [number, number, number];
	const l = Math.cbrt(0.4122214708 * lr + 0.5363325363 * lg + 0.0514459929 * lb);
	const m = Math.cbrt(0.2119034982 * lr + 0.6806995451 * lg + 0.1073969566 * lb);
	const s = Math.cbrt(0.0883024619 * lr + 0.2817188376 * lg + 0.6299787005 * lb);
	return [
		0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
		1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
		0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
	];
}

export function fromOklab([L, a, b]: [number, number, number]): Rgb {
	const l = (L + 0.3963377774 * a + 0.2158037573 * b) ** 3;
	const m = (L - 0.1055613458 * a - 0.0638541728 * b) ** 3;
	const s = (L - 0.0894841775 * a - 1.291485548 * b) ** 3;
	return [
		4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
		-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
		-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
	].map((x) => {
		const c = Math.min(1, Math.max(0, x));
		return Math.round(255 * (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055));
	}) as Rgb;
}

const hex = (text: string): Rgb => [1, 3, 5].map((i) => Number.parseInt(text.slice(i, i + 2), 16)) as Rgb;

/** A scale through the stops in OKLab, placed by lightness, so that equal steps look equal. */
function evenLightness(stops: string[]): ColorScale {
	const labs = stops.map((s) => toOklab(hex(s)));
	const first = labs[0]![0];
	const last = labs[labs.length - 1]![0];
	return (t) => {
		const L = first + (last - first) * Math.min(1, Math.max(0, t));
		let i = 0;
		while (i < labs.length - 2 && (last < first ? L < labs[i + 1]![0] : L > labs[i + 1]![0])) i++;
		const [p, q] = [labs[i]!, labs[i + 1]!];
		const s = (L - p[0]) / (q[0] - p[0]);
		return fromOklab([L, p[1] + s * (q[1] - p[1]), p[2] + s * (q[2] - p[2])]);
	};
}

function parsed(color: (t: number) => string): ColorScale {
	return (t) => {
		const text = color(Math.min(1, Math.max(0, t)));
		return text.startsWith('#') ? hex(text) : (text.match(/\d+/g)!.slice(0, 3).map(Number) as Rgb);
	};
}

/** For amounts: larger values are darker; pale straw through olive to deep pine. */
export const sequentialScales: Record<SequentialName, ColorScale> = {
	straw: evenLightness(['#f6e3a1', '#d9bf55', '#94a33a', '#4c8048', '#1d5a55', '#123348']),
	cividis: parsed(interpolateCividis),
	viridis: parsed(interpolateViridis),
	gray: evenLightness(['#ebebeb', '#1c1c1c']),
};

/** For uncertainty: paper to warm gray, unlike any scale of yield. */
export const uncertain: ColorScale = evenLightness(['#f7f3ea', '#b9a58c', '#4d3b2f']);

const down = evenLightness(['#1c4f86', '#7fa8cf', '#f1ece0']);
const up = evenLightness(['#8f3a06', '#dd9a5e', '#f1ece0']);

/** For change: blue below zero, paper in the middle, rust above. */
export const diverging: ColorScale = (t) => (t < 0.5 ? down(2 * t) : up(2 * (1 - t)));

/** For categories: flags, tank loads. Neighbors in the list differ in lightness too. */
export const categoryPalette: Rgb[] = [
	'#17556b',
	'#d98d3a',
	'#5f6d18',
	'#b5799f',
	'#8b2140',
	'#6fa7b8',
	'#3d3a6b',
	'#c9b458',
	'#713a86',
	'#8fae6a',
	'#b0480f',
	'#5d5548',
].map(hex);

export const css = ([r, g, b]: Rgb): string => `rgb(${r}, ${g}, ${b})`;
