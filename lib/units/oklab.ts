/** Color scales that are even to the eye, for the report and the page alike. */

/** Red, green, blue, 0…255. */
export type Rgb = [number, number, number];

type Lab = [lightness: number, a: number, b: number];

/**
 * OKLab of an sRGB color.
 *
 * Source: Björn Ottosson, “A perceptual color space for image processing”, 2020.
 */
export function toOklab(rgb: Rgb): Lab {
	const [r, g, b] = rgb.map(decode) as Rgb;
	const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
	const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
	const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
	return [
		0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
		1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
		0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
	];
}

/** The sRGB color of an OKLab color; what no screen shows is cut off. */
export function fromOklab([lightness, a, b]: Lab): Rgb {
	const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
	const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
	const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
	return [
		4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
		-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
		-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
	].map(encode) as Rgb;
}

/** The color of "#rrggbb". */
export const rgbOf = (hex: string): Rgb => [1, 3, 5].map((i) => Number.parseInt(hex.slice(i, i + 2), 16)) as Rgb;

/**
 * A scale through colors ("#rrggbb") whose lightness rises or falls throughout, placed by lightness in OKLab: equal steps
 * look equal, in black and white too.
 *
 * @returns the color at a share of the scale, 0…1
 */
export function evenLightness(stops: readonly string[]): (share: number) => Rgb {
	const labs = stops.map((hex) => toOklab(rgbOf(hex)));
	const first = labs[0]![0];
	const last = labs.at(-1)![0];
	return (share) => {
		const lightness = first + (last - first) * Math.min(1, Math.max(0, share));
		let k = 0;
		while (k + 2 < labs.length && (last < first ? lightness < labs[k + 1]![0] : lightness > labs[k + 1]![0])) k++;
		const [p, q] = [labs[k]!, labs[k + 1]!];
		const t = (lightness - p[0]) / (q[0] - p[0]);
		return fromOklab([lightness, p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2])]);
	};
}

/** Linear light to sRGB, 0…255. */
function encode(linear: number): number {
	const v = Math.min(1, Math.max(0, linear));
	return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}

/** sRGB, 0…255, to linear light. */
function decode(value: number): number {
	const v = value / 255;
	return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
}
