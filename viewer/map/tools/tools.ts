/** Drawing on the map: a rectangle that selects, a line that is profiled. */
import { effect, signal } from '@preact/signals';
import type * as maplibre from 'maplibre-gl';
import type { Scene } from '../../../lib/model/index.ts';
import { scene, selection } from '../../state/field.ts';
import { strings } from '../../strings/index.ts';
import { planeOf } from '../layers/plane.ts';
import { tool } from '../state.ts';
import type { Picker } from './pick.ts';
import { chooseRecords } from './select.ts';

/** A place along a profile: meters from its start, and the record there. */
export interface ProfilePoint {
	at_m: number;
	record: number;
}
export const profile = signal<{ label: string; points: ProfilePoint[] } | null>(null);

/** Middle of a record's ground along an axis, local meters. */
const middle = (s: Scene, i: number, axis: 0 | 1): number =>
	(s.corners_m[8 * i + axis]! +
		s.corners_m[8 * i + 2 + axis]! +
		s.corners_m[8 * i + 4 + axis]! +
		s.corners_m[8 * i + 6 + axis]!) /
	4;

/** Profiles the whole pass in which a record was cut. */
export function profilePass(record: number): void {
	const s = scene.value;
	if (!s || record < 0 || s.pass[record]! < 0) return;
	const points: ProfilePoint[] = [];
	// Distance over the ground between the middles of records, since logs differ in their intervals.
	let d = 0;
	let [x, y] = [Number.NaN, Number.NaN];
	for (let i = 0; i < s.n; i++) {
		if (s.pass[i] !== s.pass[record] || s.combine[i] !== s.combine[record]) continue;
		const [cx, cy] = [middle(s, i, 0), middle(s, i, 1)];
		if (Number.isNaN(cx)) continue;
		if (!Number.isNaN(x)) d += Math.hypot(cx - x, cy - y);
		[x, y] = [cx, cy];
		points.push({ at_m: d, record: i });
	}
	profile.value = points.length > 1 ? { label: strings.map.profilePass(s.pass[record]!), points } : null;
}

function drawn(map: maplibre.Map, places: [number, number][]): void {
	const source = map.getSource('drawn') as maplibre.GeoJSONSource | undefined;
	source?.setData({
		type: 'FeatureCollection',
		features:
			places.length === 0
				? []
				: [{ type: 'Feature', properties: {}, geometry: { type: 'LineString', coordinates: places } }],
	});
}

/** Handles drags on the map while a tool is active; the returned function removes the handlers. */
export function attachTools(map: maplibre.Map, pick: () => Picker): () => void {
	const canvas = map.getCanvasContainer();
	let from: maplibre.LngLat | null = null;
	const at = (e: PointerEvent) => {
		const box = canvas.getBoundingClientRect();
		return map.unproject([e.clientX - box.left, e.clientY - box.top]);
	};
	const down = (e: PointerEvent) => {
		if (tool.value === 'move' || e.button !== 0) return;
		e.stopPropagation();
		e.preventDefault();
		canvas.setPointerCapture(e.pointerId);
		map.dragPan.disable();
		from = at(e);
	};
	const move = (e: PointerEvent) => {
		if (!from) return;
		const to = at(e);
		if (tool.value === 'select') {
			drawn(map, [
				[from.lng, from.lat],
				[to.lng, from.lat],
				[to.lng, to.lat],
				[from.lng, to.lat],
				[from.lng, from.lat],
			]);
		} else
			drawn(map, [
				[from.lng, from.lat],
				[to.lng, to.lat],
			]);
	};
	const up = (e: PointerEvent) => {
		if (!from) return;
		const to = at(e);
		const start = from;
		from = null;
		map.dragPan.enable();
		const s = scene.value;
		if (!s) return;
		const plane = planeOf(s.facts.origin);
		const [x0, y0] = plane.toLocal(start.lng, start.lat);
		const [x1, y1] = plane.toLocal(to.lng, to.lat);
		if (tool.value === 'select') {
			drawn(map, []);
			const inside = pick().inside(Math.min(x0, x1), Math.min(y0, y1), Math.max(x0, x1), Math.max(y0, y1));
			if (inside.length === 0) selection.value = null;
			else chooseRecords(strings.map.selectedBox, inside);
		} else {
			const length = Math.hypot(x1 - x0, y1 - y0);
			// A press without a drag profiles the whole pass under it.
			if (length < 3) return profilePass(pick().at(x0, y0));
			const points: ProfilePoint[] = [];
			let last = -1;
			for (let d = 0; d <= length; d += 0.5) {
				const record = pick().at(x0 + ((x1 - x0) * d) / length, y0 + ((y1 - y0) * d) / length);
				if (record >= 0 && record !== last) points.push({ at_m: d, record });
				last = record;
			}
			profile.value = points.length > 1 ? { label: strings.map.profileLine, points } : null;
		}
	};
	canvas.addEventListener('pointerdown', down, true);
	canvas.addEventListener('pointermove', move, true);
	canvas.addEventListener('pointerup', up, true);
	// MapLibre pans by its own mouse events.
	const mouse = (e: MouseEvent) => {
		if (tool.value !== 'move') e.stopPropagation();
	};
	canvas.addEventListener('mousedown', mouse, true);
	const cleared = effect(() => {
		if (!profile.value) drawn(map, []);
	});
	return () => {
		cleared();
		canvas.removeEventListener('pointerdown', down, true);
		canvas.removeEventListener('pointermove', move, true);
		canvas.removeEventListener('pointerup', up, true);
		canvas.removeEventListener('mousedown', mouse, true);
	};
}
