/** The map with the evidence beside it. */
import { signal, useSignalEffect } from '@preact/signals';
import type { Map as MapLibre } from 'maplibre-gl';
import type { ComponentType } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import '../style/map.css';
import { checking } from '../import/state.ts';
import { Evidence } from '../panels/evidence/index.tsx';
import { Faults } from '../panels/work/faults.tsx';
import { OpenButtons } from '../panels/work/menu.tsx';
import { redo, undo } from '../state/edits.ts';
import { held, lit, scene, selection, status } from '../state/field.ts';
import { strings } from '../strings/index.ts';
import { type Canvas, MapCanvas } from './canvas.tsx';
import { zoneAt } from './contours.ts';
import { Controls } from './controls.tsx';
import { canvasNow, setCanvas } from './current.ts';
import { Fold } from './fold.tsx';
import { DumpMarks, moved } from './layers/dump-marks.tsx';
import { Legend } from './layers/legend.tsx';
import { ringOf } from './layers/lines.ts';
import { planeOf } from './layers/plane.ts';
import { before, layer, overlays, swipe, tool } from './state.ts';
import { cellAt } from './tools/cell.ts';
import { type Picker, picker } from './tools/pick.ts';
import { Profile } from './tools/profile.tsx';
import { ReadOut } from './tools/readout.tsx';
import { Replay } from './tools/replay.tsx';
import { SelectionPanel } from './tools/selection.tsx';
import { SwipeLine } from './tools/swipe.tsx';
import { attachTools, profile, profilePass } from './tools/tools.ts';

/** The record under the pointer, or at the map's middle when the keyboard moves it. */
const pointed = signal(-1);
/** The grid's cell there, while the grid is what is drawn. */
const cell = signal(-1);
/** The contour zone there, while contours are drawn. */
const contour = signal(-1);
/** The map, once it exists and marks can be drawn over it. */
const stands = signal(false);
/** Outline of the record's ground on the screen, as points of a polygon. */
const ring = signal('');

export function MapView() {
	const pick = useRef<Picker | null>(null);
	const detach = useRef<(() => void) | null>(null);
	useEffect(() => {
		addEventListener('keydown', pressed);
		return () => removeEventListener('keydown', pressed);
	}, []);
	useSignalEffect(() => {
		scene.value;
		pick.current = null;
		pointed.value = -1;
		ring.value = '';
	});
	const ready = (made: Canvas | null) => {
		const same = canvasNow()?.map === made?.map;
		setCanvas(made);
		stands.value = made !== null;
		// A map with another scene keeps its listeners.
		if (made && same) return;
		detach.current?.();
		detach.current = null;
		if (!made) return;
		const picks = () => (pick.current ??= picker(scene.value!));
		detach.current = attachTools(made.map, picks);
		readOut(made.map, picks);
	};

	if (checking.value) return <LazyCheck />;
	if (!scene.value) return <Waiting />;
	return (
		<div class="map-view">
			<div class={`map-side tool-${tool.value}`}>
				<div class="map-stage">
					<MapCanvas ready={ready} />
					<div class="cross" aria-hidden="true" />
					<svg class="pointed" aria-hidden="true">
						<polygon points={ring.value} />
					</svg>
					<DumpMarks map={stands.value ? (canvasNow()?.map ?? null) : null} />
					<SwipeLine />
					{status.value.kind === 'fault' && (
						<div class="over">
							<Faults faults={status.value.faults} />
						</div>
					)}
					<Fold class="map-tools" name={strings.map.showControls}>
						<Controls />
					</Fold>
					<div class="map-left">
						<SelectionPanel />
						<Fold name={strings.map.showLegend}>
							<Legend />
						</Fold>
					</div>
				</div>
				<div class="map-foot">
					<Profile />
					<Replay />
					<ReadOut record={pointed.value} cell={cell.value} contour={contour.value} />
				</div>
			</div>
			<Evidence />
		</div>
	);
}

/** Keys of the map: undo and redo, before and after, the profile of the pass that is pointed at, and Escape. */
function pressed(e: KeyboardEvent): void {
	if ((e.target as HTMLElement).closest('input:not([type=range]), select, textarea')) return;
	const letter = e.key.toLowerCase();
	if (e.ctrlKey || e.metaKey) {
		if (letter === 'z') (e.shiftKey ? redo : undo)();
		else if (letter === 'y') redo();
		else return;
		e.preventDefault();
	} else if (e.altKey) return;
	else if (letter === 'b' && layer.value.before) {
		swipe.value = null;
		before.value = !before.value;
	} else if (letter === 'p') profilePass(pointed.value);
	else if (e.key === 'Escape') {
		held.value = selection.value = profile.value = null;
	}
}

/** Outlines the record that is pointed at: over the map, not in it, so that moving the pointer does not redraw a million swaths. */
function outline(map: MapLibre): void {
	const s = scene.value;
	const i = pointed.value;
	ring.value =
		s && i >= 0 && !Number.isNaN(s.corners_m[8 * i]!)
			? ringOf(s, planeOf(s.facts.origin), i)
					.map((p) => map.project(p))
					.map((p) => `${p.x.toFixed(1)},${p.y.toFixed(1)}`)
					.join(' ')
			: '';
}

/** Points at what lies at a place of the map: the grid's cell, the contour zone, the record. */
function pointAt(map: MapLibre, picks: () => Picker, lon: number, lat: number): void {
	const s = scene.value;
	if (!s) return;
	const [x, y] = planeOf(s.facts.origin).toLocal(lon, lat);
	cell.value = layer.value.ground === 'grid' ? cellAt(s, x, y) : -1;
	contour.value = overlays.value.contours ? zoneAt(lon, lat) : -1;
	const i = picks().at(x, y);
	if (i === pointed.value) return;
	pointed.value = i;
	outline(map);
	lit.value = i < 0 ? null : { kind: 'record', record: i };
}

/** Reads out what is under the pointer, or in the map's middle when the keyboard moves it. */
function readOut(map: MapLibre, picks: () => Picker): void {
	const read = ({ lng, lat }: { lng: number; lat: number }) => pointAt(map, picks, lng, lat);
	map.on('move', () => {
		outline(map);
		moved.value++;
	});
	// Skip the read-out while the map is being moved, when every frame counts.
	map.on('mousemove', (e) => {
		if (map.isMoving()) return;
		const seam = overlays.value.seams ? map.queryRenderedFeatures(e.point, { layers: ['seams'] })[0] : undefined;
		if (seam) {
			lit.value = { kind: 'seam', seam: seam.properties.seam as number };
			pointed.value = -1;
			outline(map);
		} else {
			if (lit.value?.kind === 'seam') lit.value = null;
			read(e.lngLat);
		}
	});
	map.on('click', (e) => read(e.lngLat));
	map.on('mouseout', () => {
		if (lit.value?.kind === 'record' || lit.value?.kind === 'seam') lit.value = null;
	});
	map.on('moveend', () => {
		// After moving by keys, read out the record under the crosshair in the middle.
		if (map.getCanvas().matches(':focus-visible')) read(map.getCenter());
	});
}

const checkStep = signal<ComponentType | null>(null);

/** The mapping step for exported files, loaded only when needed. */
function LazyCheck() {
	const Step = checkStep.value;
	if (Step) return <Step />;
	import('../import/check.tsx').then((m) => (checkStep.value = m.Check));
	return <p class="waiting soft">{strings.shell.loading}</p>;
}

function Waiting() {
	const s = status.value;
	const t = strings.work;
	if (s.kind === 'working') return <p class="waiting soft">{strings.shell.loading}</p>;
	return (
		<div class="welcome">
			{s.kind === 'fault' ? <Faults faults={s.faults} /> : <h2>{t.welcome}</h2>}
			<p>{t.welcomeText}</p>
			<OpenButtons />
		</div>
	);
}
