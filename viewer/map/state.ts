/** State of the map: layer, color scale, breaks, before or after, time of the replay. */
import { computed, signal } from '@preact/signals';
import type { Rgb } from '../../lib/units/index.ts';
import { scene } from '../state/field.ts';
import { theme, token } from '../state/settings.ts';
import { type BreakMode, breaksFor, sortedSample } from './layers/breaks.ts';
import { categoryPalette, css, diverging, type SequentialName, sequentialScales, uncertain } from './layers/color.ts';
import { type LayerId, layerOf } from './layers/layers.ts';
import { LUT } from './layers/swath-shaders.ts';

export const layerId = signal<LayerId>('yield');
export const layer = computed(() => layerOf(layerId.value));
/** True: show yields as recorded. */
export const before = signal(false);
/** Position of the swipe line, as a share of the map's width; null = no swipe line. */
export const swipe = signal<number | null>(null);
export const sequential = signal<SequentialName>('straw');
export const mode = signal<BreakMode>('smooth');
const CLASSES = 7;
export const overlays = signal<{ seams: boolean; contours: boolean }>({ seams: false, contours: false });
/** Seconds after the first record up to which the harvest is replayed; null = all of it. */
export const until = signal<number | null>(null);
/** The tool that a drag on the map uses. */
export const tool = signal<'move' | 'select' | 'profile'>('move');

export const values = computed(() => {
	const s = scene.value;
	if (!s) return null;
	const l = layer.value;
	return { after: l.values(s), before: l.before?.(s) ?? null };
});

const sample = computed(() => {
	const v = values.value;
	if (!v) return null;
	if (!v.before) return sortedSample(v.after);
	// One legend for both, so that they can be compared.
	const both = new Float32Array(v.after.length * 2);
	both.set(v.after);
	both.set(v.before, v.after.length);
	return sortedSample(both);
});

/** Breaks moved by the user, by layer and mode. */
const moved = signal<Record<string, number[]>>({});
const place = computed(() => `${layerId.value}/${mode.value}`);

export const breaks = computed(() => {
	const byHand = moved.value[place.value];
	if (byHand) return byHand;
	const l = layer.value;
	if (l.scale === 'categorical' || !sample.value) return [0, 1];
	return breaksFor(sample.value, mode.value, CLASSES, l.scale === 'diverging');
});
export const breaksMoved = computed(() => place.value in moved.value);

export function setBreaks(next: number[] | null): void {
	const { [place.value]: _, ...rest } = moved.value;
	moved.value = next ? { ...rest, [place.value]: next } : rest;
}

const tokenRgb = (name: string): Rgb => {
	const text = token(name);
	return [1, 3, 5].map((i) => Number.parseInt(text.slice(i, i + 2), 16)) as Rgb;
};

/** Colors of the categories in use, by value. */
export const categoryColors = computed<Rgb[]>(() => {
	theme.value;
	if (layerId.value === 'combine') return [0, 1, 2, 3, 4, 5].map((i) => tokenRgb(`--c${i}`));
	if (layerId.value === 'flag')
		return [
			tokenRgb('--rule'),
			...categoryPalette,
			...categoryPalette.map((c) => c.map((x) => Math.round(x * 0.7)) as Rgb),
		];
	return categoryPalette;
});

/** The color of a value of the current layer. */
export const colorAt = computed<(value: number) => Rgb>(() => {
	const l = layer.value;
	if (l.scale === 'categorical') {
		const list = categoryColors.value;
		return (v) => list[Math.round(v) % list.length]!;
	}
	const r = l.scale === 'diverging' ? diverging : l.error ? uncertain : sequentialScales[sequential.value];
	const b = breaks.value;
	const [low, high] = [b[0]!, b.at(-1)!];
	if (b.length === 2) return (v) => r((v - low) / (high - low));
	const classes = b.length - 1;
	return (v) => {
		let c = 0;
		while (c < classes - 1 && v >= b[c + 1]!) c++;
		return r(c / (classes - 1));
	};
});

export const cssAt = (value: number): string => css(colorAt.value(value));

/** The lookup texture and the values at its ends. */
export const colors = computed<{ lut: Uint8Array; range: [number, number] }>(() => {
	const isCategorical = layer.value.scale === 'categorical';
	const b = breaks.value;
	const range: [number, number] = isCategorical ? [0, LUT - 1] : [b[0]!, b.at(-1)!];
	const lut = new Uint8Array(4 * LUT);
	for (let i = 0; i < LUT; i++) {
		lut.set(colorAt.value(range[0] + ((range[1] - range[0]) * i) / (LUT - 1)), 4 * i);
		lut[4 * i + 3] = 255;
	}
	return { lut, range };
});
