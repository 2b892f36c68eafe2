/** The map itself: MapLibre, our quads, and lines on top. */
import { effect, useSignalEffect } from '@preact/signals';
import * as maplibre from 'maplibre-gl';
import workerUrl from 'maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url';
import 'maplibre-gl/dist/maplibre-gl.css';
import { useEffect, useRef } from 'preact/hooks';
import type { Scene } from '../../lib/model/index.ts';
import { scene, selection, shining } from '../state/field.ts';
import { theme, token, units } from '../state/settings.ts';
import { strings } from '../strings/index.ts';
import { contours } from './contours.ts';
import { addBackdrop, backdrop } from './layers/backdrop.ts';
import { linesOf } from './layers/lines.ts';
import { boundsOf, planeOf } from './layers/plane.ts';
import { gridQuads, swathQuads } from './layers/quads.ts';
import { CHOSEN, LIT, SwathLayer } from './layers/swath-layer.ts';
import { before, colors, layer, overlays, swipe, until, values } from './state.ts';
import { litMask } from './tools/light.ts';

maplibre.setWorkerUrl(workerUrl);

export interface Canvas {
	map: maplibre.Map;
	swaths: SwathLayer;
}

let lastPlace = '';

/** Draws the map from the signals; calls `ready` once it exists. */
export function MapCanvas(props: { ready: (canvas: Canvas | null) => void }) {
	const box = useRef<HTMLDivElement>(null);
	useEffect(() => {
		const map = new maplibre.Map({
			container: box.current!,
			style: { version: 8, sources: {}, layers: [{ id: 'paper', type: 'background' }] },
			attributionControl: false,
			// North stays up unless turned on purpose, and no tilt, since a tilted field is hard to compare.
			maxPitch: 0,
			fadeDuration: 0,
			locale: { 'Map.Title': strings.map.title },
			canvasContextAttributes: { antialias: !drawnBySoftware(), preserveDrawingBuffer: true },
		});
		map.addControl(new maplibre.NavigationControl({ visualizePitch: false }), 'top-right');
		const scale = new maplibre.ScaleControl({ maxWidth: 140 });
		map.addControl(scale, 'bottom-right');
		const stops = [effect(() => scale.setUnit(units.value === 'us' ? 'imperial' : 'metric'))];
		let drawn: { stop(): void } | null = null;
		map.on('load', () => {
			stops.push(
				effect(() => {
					const s = scene.value;
					drawn?.stop();
					drawn = s ? draw(map, s, props.ready) : null;
				}),
			);
		});
		return () => {
			for (const stop of stops) stop();
			drawn?.stop();
			lastPlace = '';
			props.ready(null);
			map.remove();
		};
	}, []);
	useSignalEffect(() => {
		box.current?.classList.toggle('before', before.value);
	});
	return <div ref={box} class="map-canvas" />;
}

function draw(map: maplibre.Map, s: Scene, ready: (canvas: Canvas) => void): { stop(): void } {
	const { origin } = s.facts;
	const swaths = new SwathLayer('swaths', origin);
	const cells = new SwathLayer('grid', origin);
	swaths.setQuads(swathQuads(s));
	let start = Infinity;
	for (const t of s.time_s) if (t < start) start = t;
	swaths.setTimes(Float32Array.from(s.time_s, (t) => t - start));
	map.addLayer(swaths);
	map.addLayer(cells);
	linesOf(map, s, planeOf(origin));
	// Keep the view when the same field is solved again.
	const place = `${origin.lon_deg.toFixed(6)},${origin.lat_deg.toFixed(6)},${s.n}`;
	if (place !== lastPlace) map.fitBounds(boundsOf(s), { padding: clearOf(map), animate: false });
	lastPlace = place;

	const still = () => {
		swaths.moving = cells.moving = false;
		map.triggerRepaint();
	};
	const moves = () => {
		swaths.moving = cells.moving = true;
	};
	map.on('movestart', moves);
	map.on('moveend', still);

	let gridDrawn = false;
	let marked = false;
	const stops = [
		effect(() => {
			const onGrid = layer.value.ground === 'grid';
			if (onGrid && !gridDrawn) {
				cells.setQuads(gridQuads(s));
				gridDrawn = true;
			}
			map.setLayoutProperty('swaths', 'visibility', onGrid ? 'none' : 'visible');
			map.setLayoutProperty('grid', 'visibility', onGrid ? 'visible' : 'none');
		}),
		effect(() => {
			const v = values.value;
			if (v) (layer.value.ground === 'grid' ? cells : swaths).setValues(v.after, v.before);
		}),
		effect(() => {
			const { lut, range } = colors.value;
			for (const l of [swaths, cells]) l.setColors(lut, range);
		}),
		effect(() => {
			const x = swipe.value !== null ? swipe.value * map.getContainer().clientWidth : before.value ? Infinity : -1;
			for (const l of [swaths, cells]) l.setSplit(x);
		}),
		effect(() => {
			backdrop.value;
			addBackdrop(map, maplibre, boundsOf(s));
		}),
		effect(() => swaths.setUntil(until.value)),
		effect(() => {
			const lit = litMask(s, shining.value);
			const chosen = selection.value?.mask ?? null;
			// Skip if unchanged, which is usual as the pointer moves.
			if (!lit && !chosen && !marked) return;
			marked = lit !== null || chosen !== null;
			const state = new Uint8Array(s.n);
			for (let i = 0; i < s.n; i++) state[i] = (lit?.[i] ? LIT : 0) | (chosen?.[i] ? CHOSEN : 0);
			// What is pointed at now takes precedence over the selection.
			swaths.setState(state, lit ? LIT : chosen ? CHOSEN : 0);
		}),
		effect(() => paint(map)),
		effect(() => {
			const features = contours.value;
			map.getSource<maplibre.GeoJSONSource>('contours')!.setData({ type: 'FeatureCollection', features });
		}),
		effect(() => showOverlays(map)),
		effect(() => lightSeams(map)),
	];
	map.once('render', () => {
		performance.mark('first-picture');
		document.documentElement.dataset.pictured = 'yes';
		document.dispatchEvent(new Event('pictured'));
		ready({ map, swaths });
	});
	map.triggerRepaint();
	return {
		stop() {
			for (const stop of stops) stop();
			map.off('movestart', moves);
			map.off('moveend', still);
			for (const l of map.getStyle().layers) if (l.id !== 'paper') map.removeLayer(l.id);
			for (const id of ['swaths', 'grid']) if (map.getLayer(id)) map.removeLayer(id);
			for (const id of Object.keys(map.getStyle().sources)) map.removeSource(id);
		},
	};
}

function paint(map: maplibre.Map): void {
	theme.value;
	for (const [id, what, color] of [
		['paper', 'background-color', '--sunk'],
		['outline', 'line-color', '--ink'],
		['seam-lit', 'line-color', '--lit'],
		['contours', 'line-color', '--ink'],
		['seam-edge', 'line-color', '--sheet'],
	] as const)
		map.setPaintProperty(id, what, token(color));
}

function showOverlays(map: maplibre.Map): void {
	const { seams, contours } = overlays.value;
	const kind = shining.value?.kind;
	const visible = { seams: seams || kind === 'seam' || kind === 'pair', contours };
	for (const [id, by] of [
		['seams', 'seams'],
		['seam-edge', 'seams'],
		['contours', 'contours'],
	] as const)
		map.setLayoutProperty(id, 'visibility', visible[by] ? 'visible' : 'none');
}

/** Lights the seam, or the seams of the two combines, that are pointed at. */
function lightSeams(map: maplibre.Map): void {
	const l = shining.value;
	map.setFilter(
		'seam-lit',
		l?.kind === 'pair'
			? ['all', ['==', ['get', 'a'], l.a], ['==', ['get', 'b'], l.b]]
			: ['==', ['get', 'seam'], l?.kind === 'seam' ? l.seam : -1],
	);
}

/** Padding for the legend, the controls and the read-out, where there is room. */
function clearOf(map: maplibre.Map): maplibre.PaddingOptions {
	const { clientWidth: w, clientHeight: h } = map.getContainer();
	return w > 800 && h > 480
		? { top: 104, bottom: 24, left: w > 780 ? 344 : 48, right: 64 }
		: { top: 8, bottom: 8, left: 8, right: 8 };
}

/** True without a graphics card: smoothed edges then cost four times as much and slow down interaction. */
function drawnBySoftware(): boolean {
	const gl = document.createElement('canvas').getContext('webgl2');
	const info = gl?.getExtension('WEBGL_debug_renderer_info');
	const name = gl && info ? String(gl.getParameter(info.UNMASKED_RENDERER_WEBGL)) : '';
	gl?.getExtension('WEBGL_lose_context')?.loseContext();
	return /swiftshader|llvmpipe|software|basic render/i.test(name);
}
