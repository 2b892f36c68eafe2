/** Color scales: perceptually even (lightness runs evenly in OKLab) and safe for the color-blind. */
import { interpolateCividis, interpolateViridis } from 'd3-scale-chromatic';
import { evenLightness, type Rgb, rgbOf } from '../../../lib/units/index.ts';

/** Maps 0…1 to red, green and blue, 0…255. */
export type ColorScale = (t: number) => Rgb;

export type SequentialName = 'straw' | 'cividis' | 'viridis' | 'gray';

function parsed(color: (t: number) => string): ColorScale {
	return (t) => {
		const text = color(Math.min(1, Math.max(0, t)));
		return text.startsWith('#') ? rgbOf(text) : (text.match(/\d+/g)!.slice(0, 3).map(Number) as Rgb);
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
].map(rgbOf);

export const css = ([r, g, b]: Rgb): string => `rgb(${r}, ${g}, ${b})`;
