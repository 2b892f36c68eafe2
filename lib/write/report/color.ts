/** Red, green, blue, 0…255. */
export type Rgb = [number, number, number];

type Lab = [number, number, number];

/**
 * The color scale for yield: straw to deep pine, darker for more grain. Stops, and the colors between them, are spaced
 * by lightness in OKLab, so the order is visible with any kind of color vision and on a black and white
 * printer. Source of the color space: Björn Ottosson, “A perceptual color space for image processing”, 2020.
 */
const YIELD = ['#f6e3a1', '#d9bf55', '#94a33a', '#4c8048', '#1d5a55', '#123348'].map(toOklab);
/** For change: blue below, paper in the middle, rust above; lightness changes evenly on both sides. */
const LESS = ['#f1ece0', '#7fa8cf', '#1c4f86'].map(toOklab);
const MORE = ['#f1ece0', '#dd9a5e', '#8f3a06'].map(toOklab);
/** For standard errors. */
const ERROR = ['#f4f1ea', '#55504a'].map(toOklab);

export const yieldColor = (share: number): Rgb => along(YIELD, share);
export const errorColor = (share: number): Rgb => along(ERROR, share);
/** −1 … 1. */
export const changeColor = (share: number): Rgb => (share < 0 ? along(LESS, -share) : along(MORE, share));

export const css = ([r, g, b]: Rgb): string => `#${[r, g, b].map((v) => v.toString(16).padStart(2, '0')).join('')}`;

function along(stops: readonly Lab[], share: number): Rgb {
	const first = stops[0]![0];
	const last = stops.at(-1)![0];
	const lightness = first + (last - first) * Math.min(1, Math.max(0, share));
	let k = 0;
	while (k + 2 < stops.length && lightness < stops[k + 1]![0]) k++;
	const [p, q] = [stops[k]!, stops[k + 1]!];
	const t = (lightness - p[0]) / (q[0] - p[0]);
	return fromOklab(lightness, p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2]));
}

function toOklab(hex: string): Lab {
	const [r, g, b] = [1, 3, 5].map((k) => decode(Number.parseInt(hex.slice(k, k + 2), 16) / 255)) as Lab;
	const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
	const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
	const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
	return [
		0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
		1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
		0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
	];
}

function fromOklab(lightness: number, a: number, b: number): Rgb {
	const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
	const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
	const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
	return [
		encode(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
		encode(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
		encode(-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s),
	];
}

/** Linear light to sRGB, 0…255. */
function encode(linear: number): number {
	const v = Math.min(1, Math.max(0, linear));
	return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}

/** sRGB to linear light, both 0…1. */
function decode(value: number): number {
	return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
}
