/** The map as a PNG: picture, title, legend, scale bar, north. */

import { fileName, saveAs } from '../../panels/work/save.ts';
import { scene } from '../../state/field.ts';
import { number } from '../../state/format.ts';
import { units } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { canvasNow } from '../current.ts';
import { before, categoryColors, cssAt, layer, values } from '../state.ts';
import { css } from './color.ts';
import { legendTicks, nameOf } from './legend.tsx';
import { boundsOf } from './plane.ts';

const token = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

async function makePicture(): Promise<Blob | null> {
	const s = scene.value;
	const canvas = canvasNow();
	if (!s || !canvas) return null;
	const { map } = canvas;
	const drawn = () =>
		new Promise((done) => {
			map.once('render', done);
			map.triggerRepaint();
		});
	// Show the whole field, and restore the user's view afterward.
	const was = { center: map.getCenter(), zoom: map.getZoom(), bearing: map.getBearing() };
	map.fitBounds(boundsOf(s), { padding: 24, animate: false, bearing: was.bearing });
	await drawn();
	const picture = await createImageBitmap(map.getCanvas());
	const { clientWidth: w, clientHeight: h } = map.getCanvas();
	const ratio = picture.width / w;
	const strip = 92;
	const out = document.createElement('canvas');
	out.width = w * ratio;
	out.height = (h + strip + 48) * ratio;
	const g = out.getContext('2d')!;
	g.scale(ratio, ratio);
	g.fillStyle = token('--paper');
	g.fillRect(0, 0, w, h + strip + 48);
	const family = token('--family');
	g.fillStyle = token('--ink');
	g.font = `600 20px ${family}`;
	const { name: fieldName, farm, client, season, crop } = s.facts.field;
	g.fillText(fieldName, 16, 22);
	const title = g.measureText(fieldName).width;
	const l = layer.value;
	const t = strings.map;
	g.font = `400 14px ${family}`;
	g.fillStyle = token('--soft');
	const where = [farm, client, crop.name, season].filter((x) => x !== null && x !== '').join(' · ');
	g.fillText(where, 28 + title, 22);
	const state = l.before ? `, ${(before.value ? t.asRecorded : t.corrected).toLowerCase()}` : '';
	const dry = l.valueKind.kind === 'amount' && l.valueKind.quantity === 'yield';
	const basis = dry ? `, ${t.basis(number(crop.market_moisture_pct, 1))}` : '';
	g.fillText(`${t.layers[l.id]}${state}${basis}`, 16, 41);
	g.drawImage(picture, 0, 48, w, h);

	// Legend.
	const y = h + 48 + 20;
	g.font = `400 13px ${family}`;
	if (l.scale === 'categorical') {
		let x = 16;
		const used = new Set(Array.from(values.value!.after).filter(Number.isFinite));
		for (const [k, name] of l.categories!(s).entries()) {
			if (!used.has(k) || x > w - 260) continue;
			g.fillStyle = css(categoryColors.value[k % categoryColors.value.length]!);
			g.fillRect(x, y, 14, 14);
			g.fillStyle = token('--ink');
			const text = nameOf(l.id, name, s.facts.combines);
			g.fillText(text, x + 19, y + 12);
			x += 36 + g.measureText(text).width;
		}
	} else {
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

	// Scale bar: a round length of at most 160 pixels.
	const center = map.getCenter();
	const metersPerPixel = (156_543.034 * Math.cos((center.lat * Math.PI) / 180)) / 2 ** map.getZoom() / 2;
	const [size, name] = units.value === 'us' ? [0.3048, 'ft'] : [1, 'm'];
	const most = (160 * metersPerPixel) / size;
	const power = 10 ** Math.floor(Math.log10(most));
	const round = [5, 2, 1].find((k) => k * power <= most)! * power;
	const bar = (round * size) / metersPerPixel;
	const right = w - 70;
	g.strokeStyle = g.fillStyle = token('--ink');
	g.lineWidth = 1.5;
	g.beginPath();
	g.moveTo(right - bar, y + 2);
	g.lineTo(right - bar, y + 10);
	g.lineTo(right, y + 10);
	g.lineTo(right, y + 2);
	g.stroke();
	g.textAlign = 'center';
	g.fillText(`${number(round, 0)} ${name}`, right - bar / 2, y + 30);

	// North, turned with the map.
	g.save();
	g.translate(w - 32, y + 14);
	g.rotate((-map.getBearing() * Math.PI) / 180);
	g.beginPath();
	g.moveTo(0, -16);
	g.lineTo(7, 10);
	g.lineTo(0, 5);
	g.lineTo(-7, 10);
	g.closePath();
	g.fill();
	g.restore();
	g.fillText(t.north, w - 32, y + 44);
	map.jumpTo(was);
	return new Promise((done) => out.toBlob(done, 'image/png'));
}

export async function savePicture(): Promise<void> {
	const blob = await makePicture();
	if (blob) await saveAs(fileName(`${layer.value.id}.png`), blob);
}
