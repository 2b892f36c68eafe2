/** The map as a PNG: picture, title, legend, scale bar, north. */
import type { Map as MapLibre } from 'maplibre-gl';
import type { Scene } from '../../../lib/model/index.ts';
import { fileName, saveAs } from '../../panels/work/save.ts';
import { scene } from '../../state/field.ts';
import { number } from '../../state/format.ts';
import { token, units } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { canvasNow } from '../current.ts';
import { before, categoryColors, cssAt, layer, values } from '../state.ts';
import { css } from './color.ts';
import { legendTicks, nameOf } from './legend.tsx';
import { boundsOf } from './plane.ts';

const t = strings.map;

/** Heights of the heading above the picture and of the strip with legend and scale bar below it. */
const HEADING = 48;
const STRIP = 92;

type Pen = CanvasRenderingContext2D;

async function makePicture(): Promise<Blob | null> {
	const s = scene.value;
	const canvas = canvasNow();
	if (!s || !canvas) return null;
	const { map } = canvas;
	// Show the whole field, and restore the user's view afterward.
	const was = { center: map.getCenter(), zoom: map.getZoom(), bearing: map.getBearing() };
	map.fitBounds(boundsOf(s), { padding: 24, animate: false, bearing: was.bearing });
	await new Promise((done) => {
		map.once('render', done);
		map.triggerRepaint();
	});
	const picture = await createImageBitmap(map.getCanvas());
	const { clientWidth: w, clientHeight: h } = map.getCanvas();
	const ratio = picture.width / w;
	const out = document.createElement('canvas');
	out.width = w * ratio;
	out.height = (h + STRIP + HEADING) * ratio;
	const g = out.getContext('2d')!;
	g.scale(ratio, ratio);
	g.fillStyle = token('--paper');
	g.fillRect(0, 0, w, h + STRIP + HEADING);
	heading(g, s);
	g.drawImage(picture, 0, HEADING, w, h);

	const y = h + HEADING + 20;
	g.font = `400 13px ${token('--family')}`;
	if (layer.value.scale === 'categorical') namedColors(g, s, w, y);
	else colorScale(g, w, y);
	g.strokeStyle = g.fillStyle = token('--ink');
	g.lineWidth = 1.5;
	g.textAlign = 'center';
	scaleBar(g, map, w - 70, y);
	north(g, map.getBearing(), w - 32, y);
	map.jumpTo(was);
	return new Promise((done) => out.toBlob(done, 'image/png'));
}

/** The field's name and whose it is, and what the map shows. */
function heading(g: Pen, s: Scene): void {
	const { name, farm, client, season, crop } = s.facts.field;
	const family = token('--family');
	g.fillStyle = token('--ink');
	g.font = `600 20px ${family}`;
	g.fillText(name, 16, 22);
	const title = g.measureText(name).width;
	g.font = `400 14px ${family}`;
	g.fillStyle = token('--soft');
	g.fillText([farm, client, crop.name, season].filter((x) => x !== null && x !== '').join(' · '), 28 + title, 22);
	const l = layer.value;
	const state = l.before ? `, ${(before.value ? t.asRecorded : t.corrected).toLowerCase()}` : '';
	const dry = l.valueKind.kind === 'amount' && l.valueKind.quantity === 'yield';
	const basis = dry ? `, ${t.basis(number(crop.market_moisture_pct, 1))}` : '';
	g.fillText(`${t.layers[l.id]}${state}${basis}`, 16, 41);
}

/** Legend of a layer of kinds: those on the map, as far as there is room. */
function namedColors(g: Pen, s: Scene, w: number, y: number): void {
	const l = layer.value;
	const used = new Set(Array.from(values.value!.after).filter(Number.isFinite));
	let x = 16;
	for (const [k, name] of l.categories!(s).entries()) {
		if (!used.has(k) || x > w - 260) continue;
		g.fillStyle = css(categoryColors.value[k % categoryColors.value.length]!);
		g.fillRect(x, y, 14, 14);
		g.fillStyle = token('--ink');
		const text = nameOf(l.id, name, s.facts.combines);
		g.fillText(text, x + 19, y + 12);
		x += 36 + g.measureText(text).width;
	}
}

/** Legend of a layer of numbers. */
function colorScale(g: Pen, w: number, y: number): void {
	const { low, high, ticks, unit, factor, digits } = legendTicks();
	const width = Math.min(360, w * 0.45);
	for (let i = 0; i < width; i++) {
		g.fillStyle = cssAt(low + ((i + 0.5) / width) * (high - low));
		g.fillRect(16 + i, y, 1.5, 16);
	}
	g.fillStyle = token('--ink');
	g.textAlign = 'center';
	for (const tick of ticks) {
		g.fillText(number(tick * factor, digits), 16 + ((tick - low) / (high - low)) * width, y + 34);
	}
	g.textAlign = 'left';
	g.fillText(unit, 16, y + 54);
}

function outlined(g: Pen, corners: readonly (readonly [number, number])[]): void {
	g.beginPath();
	for (const [x, y] of corners) g.lineTo(x, y);
}

/** Scale bar that ends at `right`: a round length of at most 160 pixels. */
function scaleBar(g: Pen, map: MapLibre, right: number, y: number): void {
	const metersPerPixel = (156_543.034 * Math.cos((map.getCenter().lat * Math.PI) / 180)) / 2 ** map.getZoom() / 2;
	const [size, name] = units.value === 'us' ? [0.3048, 'ft'] : [1, 'm'];
	const most = (160 * metersPerPixel) / size;
	const power = 10 ** Math.floor(Math.log10(most));
	const round = [5, 2, 1].find((k) => k * power <= most)! * power;
	const left = right - (round * size) / metersPerPixel;
	outlined(g, [
		[left, y + 2],
		[left, y + 10],
		[right, y + 10],
		[right, y + 2],
	]);
	g.stroke();
	g.fillText(`${number(round, 0)} ${name}`, (left + right) / 2, y + 30);
}

/** The arrow to north, turned with the map. */
function north(g: Pen, bearing: number, x: number, y: number): void {
	g.save();
	g.translate(x, y + 14);
	g.rotate((-bearing * Math.PI) / 180);
	outlined(g, [
		[0, -16],
		[7, 10],
		[0, 5],
		[-7, 10],
	]);
	g.closePath();
	g.fill();
	g.restore();
	g.fillText(t.north, x, y + 44);
}

export async function savePicture(): Promise<void> {
	const blob = await makePicture();
	if (blob) await saveAs(fileName(`${layer.value.id}.png`), blob);
}
