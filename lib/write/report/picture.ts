import { ticks } from 'd3-array';
import { projectRings } from '../../geo/ring.ts';
import { utmProjection } from '../../geo/utm.ts';
import type { Run, Surface } from '../../model/index.ts';
import { FOOT_M, type Rgb, shown } from '../../units/index.ts';
import { changeColor, css, errorColor, yieldColor } from './color.ts';
import { html, type Markup } from './html.ts';
import { dataUri, palettePng } from './png.ts';
import type { Say } from './say.ts';

/** Width of a panel in drawing units. */
const PANEL = 420;
const TALLEST = 400;

/** The part of the grid that holds cells, with a margin of one cell. */
interface Window {
	column: number;
	row: number;
	columns: number;
	rows: number;
}

/** Classes of a legend in shown units: ascending edges, one color per class; the end classes are open. */
export interface Classes {
	edges: number[];
	colors: Rgb[];
}

/** Round classes over the middle 96% of the values. */
function classesOf(values: ArrayLike<number>, color: (share: number) => Rgb, wanted = 7): Classes {
	const sorted = Float64Array.from(values).filter(Number.isFinite).sort();
	if (sorted.length === 0) return { edges: [0, 1], colors: [color(0.5)] };
	const at = (q: number) => sorted[Math.round(q * (sorted.length - 1))]!;
	let [low, high] = [at(0.02), at(0.98)];
	if (!(high > low)) [low, high] = [low - 0.5, high + 0.5];
	const edges = ticks(low, high, wanted);
	const step = edges.length > 1 ? edges[1]! - edges[0]! : high - low;
	if (edges.length === 0) edges.push(low, high);
	if (edges[0]! > low) edges.unshift(edges[0]! - step);
	if (edges.at(-1)! < high) edges.push(edges.at(-1)! + step);
	const n = edges.length - 1;
	return { edges, colors: Array.from({ length: n }, (_, k) => color(n === 1 ? 0.5 : k / (n - 1))) };
}

/** Round classes symmetric about zero; where all values changed the same way, over their range. */
export function changeClasses(values: ArrayLike<number>): Classes {
	const sorted = Float64Array.from(values).filter(Number.isFinite).sort();
	const at = (q: number) => sorted[Math.round(q * (sorted.length - 1))] ?? 0;
	const [low, high] = [at(0.02), at(0.98)];
	if (low > 0) return classesOf(values, (share) => changeColor(0.2 + 0.8 * share), 5);
	if (high < 0) return classesOf(values, (share) => changeColor(0.8 * share - 1), 5);
	const top = Math.max(-low, high, 1e-6);
	const step = ticks(0, top, 3)[1] ?? top;
	const n = Math.max(1, Math.ceil(top / step - 1e-9));
	const edges = Array.from({ length: 2 * n + 1 }, (_, k) => Number(((k - n) * step).toPrecision(12)));
	return { edges, colors: Array.from({ length: 2 * n }, (_, k) => changeColor((k + 0.5 - n) / n)) };
}

export const errorClasses = (values: ArrayLike<number>): Classes => classesOf(values, errorColor, 4);
export const yieldClasses = (values: ArrayLike<number>): Classes => classesOf(values, yieldColor);

interface Shaded {
	/** Values of the cells in shown units. */
	values: ArrayLike<number>;
	classes: Classes;
	/** Draw lines through negative cells. */
	lined?: boolean;
}

export interface Legend extends Shaded {
	unit: string;
	/** Show the area of each class. */
	counts?: boolean;
}

/** A grid as a picture with the outline over it, a scale bar and north. Null if no cell has a value. */
export function mapPicture(
	run: Run,
	say: Say,
	{ values, classes, label, lined = false }: Shaded & { label: string },
): Markup | null {
	const { surface } = run;
	const window = windowOf(surface);
	if (window === null) return null;
	const wide_m = window.columns * surface.cell_m;
	const high_m = window.rows * surface.cell_m;
	const perMeter = Math.min(PANEL / wide_m, TALLEST / high_m);
	const width = round(wide_m * perMeter);
	const height = round(high_m * perMeter);
	const uri = raster(surface, values, classes, window);
	const west_m = surface.west_m + window.column * surface.cell_m;
	const north_m = surface.north_m - window.row * surface.cell_m;
	const left = (PANEL - width) / 2;
	return html`<svg viewBox="0 0 ${PANEL} ${round(height + 26)}" role="img" aria-label="${label}">
<g transform="translate(${round(left)} 0)">
<image width="${width}" height="${height}" preserveAspectRatio="none" image-rendering="pixelated" href="${uri}"/>
${lined ? html`<path d="${lessLines(surface, values, window, perMeter)}" fill="none" stroke="#fffdf7" stroke-width="0.7"/>` : null}
<path d="${outlinePath(run, west_m, north_m, perMeter)}" fill="none" stroke="#231f19" stroke-width="1.1" stroke-linejoin="round"/>
</g>
${scaleBar(perMeter, height + 18, say)}
<path d="M${PANEL - 9} ${round(height + 6)}l4.5 13l-4.5 -3.4l-4.5 3.4z" fill="#231f19"/>
<text x="${PANEL - 20}" y="${round(height + 19)}" font-size="11" text-anchor="end">N</text>
</svg>`;
}

/** The legend: a row of boxes with their edges below and the area of each class above. */
export function legend(say: Say, { values, classes, unit, counts = true, lined = false }: Legend): Markup {
	const { edges, colors } = classes;
	const digits = edgeDigits(edges);
	const n = colors.length;
	const held = new Float64Array(n);
	for (let k = 0; k < values.length; k++) {
		const v = values[k]!;
		if (!Number.isFinite(v)) continue;
		held[classAt(edges, v)]!++;
	}
	const most = Math.max(1, ...held);
	const box = PANEL / n;
	const top = counts ? 31 : 2;
	const bars = colors.map((color, k) => {
		const h = round((30 * held[k]!) / most);
		return html`<rect x="${round(k * box)}" y="${round(top - h)}" width="${round(box)}" height="${h}" fill="${css(color)}" stroke="#231f19" stroke-width="0.5"/>`;
	});
	const boxes = colors.map(
		(color, k) =>
			html`<rect x="${round(k * box)}" y="${top}" width="${round(box)}" height="10" fill="${css(color)}" stroke="#231f19" stroke-width="0.5"/>`,
	);
	const less = edges.filter((edge, k) => lined && k > 0 && edge <= 0).length;
	const line =
		less > 0 ? html`<path d="M0 ${top + 5}H${round(less * box)}" stroke="#fffdf7" stroke-width="0.9"/>` : null;
	const marks = edges.map((edge, k) => {
		const open = k === 0 || k === n;
		const anchor = k === 0 ? 'start' : k === n ? 'end' : 'middle';
		const text = open ? (k === 0 ? unit : '') : say.number(edge, digits);
		return html`<text x="${round(k * box)}" y="${top + 23}" font-size="11" text-anchor="${anchor}">${text}</text>`;
	});
	return html`<svg viewBox="-1 0 ${PANEL + 2} ${top + 27}" role="img" aria-label="Legend in ${unit}">${counts ? bars : null}${boxes}${line}${marks}</svg>`;
}

/** Decimals that tell the edges of classes apart. */
function edgeDigits(edges: readonly number[]): number {
	const step = edges.length > 1 ? edges[1]! - edges[0]! : 1;
	return Math.max(0, Math.min(4, Math.ceil(-Math.log10(step) - 1e-9)));
}

function classAt(edges: readonly number[], value: number): number {
	let k = 0;
	while (k + 2 < edges.length && value >= edges[k + 1]!) k++;
	return k;
}

const round = (v: number): number => Math.round(v * 100) / 100;

function windowOf(surface: Surface): Window | null {
	let [west, east, north, south] = [Infinity, -1, Infinity, -1];
	for (let row = 0; row < surface.rows; row++) {
		for (let column = 0; column < surface.columns; column++) {
			if (!Number.isFinite(surface.yield_kg_ha[row * surface.columns + column]!)) continue;
			west = Math.min(west, column);
			east = Math.max(east, column);
			north = Math.min(north, row);
			south = Math.max(south, row);
		}
	}
	if (east < 0) return null;
	return { column: west - 1, row: north - 1, columns: east - west + 3, rows: south - north + 3 };
}

/** One or more pixels per cell, so that printers do not blur the cells into each other. */
function raster(surface: Surface, values: ArrayLike<number>, classes: Classes, window: Window): string {
	const longest = Math.max(window.columns, window.rows);
	const zoom = Math.max(1, Math.min(8, Math.floor(900 / longest)));
	const width = window.columns * zoom;
	const height = window.rows * zoom;
	const index = new Uint8Array(width * height);
	for (let row = 0; row < height; row++) {
		const r = window.row + Math.floor(row / zoom);
		if (r < 0 || r >= surface.rows) continue;
		for (let column = 0; column < width; column++) {
			const c = window.column + Math.floor(column / zoom);
			if (c < 0 || c >= surface.columns) continue;
			const v = values[r * surface.columns + c]!;
			if (Number.isFinite(v)) index[row * width + column] = 1 + classAt(classes.edges, v);
		}
	}
	return dataUri(palettePng(index, width, height, classes.colors));
}

/** A line through the negative cells, so that less and more differ without color. */
function lessLines(surface: Surface, values: ArrayLike<number>, window: Window, perMeter: number): string {
	const cell = surface.cell_m * perMeter;
	// Lines are at least about 4 units apart.
	const every = Math.max(1, Math.ceil(4 / cell));
	let d = '';
	for (let row = 0; row < surface.rows; row += every) {
		const y = round((row - window.row + 0.5) * cell);
		let from = -1;
		for (let column = 0; column <= surface.columns; column++) {
			const less = column < surface.columns && values[row * surface.columns + column]! < 0;
			if (less && from < 0) from = column;
			if (less || from < 0) continue;
			d += `M${round((from - window.column) * cell)} ${y}H${round((column - window.column) * cell)}`;
			from = -1;
		}
	}
	return d;
}

function outlinePath(run: Run, west_m: number, north_m: number, perMeter: number): string {
	const { outline, zone } = run.track;
	if (!outline) return '';
	return projectRings(outline, utmProjection(zone))
		.map((ring) => {
			const points: string[] = [];
			for (let k = 0; k + 1 < ring.length; k += 2) {
				points.push(`${round((ring[k]! - west_m) * perMeter)} ${round((north_m - ring[k + 1]!) * perMeter)}`);
			}
			return `M${points.join('L')}Z`;
		})
		.join('');
}

/** A bar of a round length, about a quarter of the panel. */
function scaleBar(perMeter: number, y: number, say: Say): Markup {
	const feet = say.units === 'us';
	const unit_m = feet ? FOOT_M : 1;
	const about = PANEL / 4 / perMeter / unit_m;
	const power = 10 ** Math.floor(Math.log10(about));
	const length = [5, 2, 1].map((m) => m * power).find((v) => v <= about) ?? power;
	const drawn = round(length * unit_m * perMeter);
	return html`<path d="M1 ${round(y - 6)}v6h${drawn}v-6" fill="none" stroke="#231f19" stroke-width="1.1"/>
<text x="${round(drawn + 8)}" y="${round(y + 1)}" font-size="11">${say.number(length, 0)} ${feet ? 'ft' : 'm'}</text>`;
}

/** Values of cells in shown units. */
export function shownCells(values: ArrayLike<number>, say: Say): Float64Array {
	const { factor } = shown('yield', say.units, say.crop);
	return Float64Array.from(values, (v) => v * factor);
}
