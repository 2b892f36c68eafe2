/** The map with the chain of evidence beside it. */
import { signal, useSignalEffect } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import '../style/map.css';
import { Evidence } from '../evidence/index.tsx';
import { lit, scene, status } from '../store/field.ts';
import { strings } from '../strings/index.ts';
import { type Canvas, MapCanvas } from './canvas.tsx';
import { Controls } from './controls.tsx';
import { Legend } from './legend.tsx';
import { ringOf } from './lines.ts';
import { type Picker, picker } from './pick.ts';
import { planeOf } from './plane.ts';
import { ReadOut } from './readout.tsx';
import { before, layer, swipe } from './state.ts';
import { SwipeLine } from './swipe.tsx';

/** The record under the pointer, or at the map's middle when the keyboard moves it. */
const pointed = signal(-1);

export function MapView() {
	const canvas = useRef<Canvas | null>(null);
	const pick = useRef<Picker | null>(null);
	const standing = signal(0);

	useEffect(() => {
		const key = (e: KeyboardEvent) => {
			if (e.ctrlKey || e.metaKey || e.altKey) return;
			if ((e.target as HTMLElement).closest('input, select, textarea')) return;
			if (e.key.toLowerCase() === 'b' && layer.value.before) {
				swipe.value = null;
				before.value = !before.value;
			}
		};
		addEventListener('keydown', key);
		return () => removeEventListener('keydown', key);
	}, []);

	useSignalEffect(() => {
		scene.value;
		pick.current = null;
		pointed.value = -1;
	});

	const ready = (made: Canvas | null) => {
		canvas.current = made;
		standing.value++;
		if (!made) return;
		const { map } = made;
		const read = (lon: number, lat: number) => {
			const s = scene.value;
			if (!s) return;
			pick.current ??= picker(s);
			const plane = planeOf(s.facts.origin);
			const i = pick.current.at(...plane.toLocal(lon, lat));
			if (i === pointed.value) return;
			pointed.value = i;
			const source = map.getSource('record') as { setData(data: unknown): void } | undefined;
			source?.setData({
				type: 'FeatureCollection',
				features:
					i < 0
						? []
						: [{ type: 'Feature', properties: {}, geometry: { type: 'LineString', coordinates: ringOf(s, plane, i) } }],
			});
			lit.value = i < 0 ? null : { kind: 'record', record: i };
		};
		map.on('mousemove', (e) => read(e.lngLat.lng, e.lngLat.lat));
		map.on('click', (e) => read(e.lngLat.lng, e.lngLat.lat));
		map.on('mouseout', () => {
			if (lit.value?.kind === 'record') lit.value = null;
		});
		map.on('moveend', () => {
			// Moved by keys: what lies in the middle is read, under the cross-hair.
			if (map.getCanvas().matches(':focus-visible')) read(map.getCenter().lng, map.getCenter().lat);
		});
	};

	return (
		<div class="map-view">
			<div class="map-side">
				<MapCanvas ready={ready} />
				<div class="cross" aria-hidden="true" />
				<SwipeLine />
				{scene.value && (
					<>
						<Controls />
						<Legend />
						<ReadOut record={pointed.value} />
					</>
				)}
				{!scene.value && <Waiting />}
			</div>
			<Evidence />
		</div>
	);
}

function Waiting() {
	const s = status.value;
	if (s.kind === 'fault') {
		return (
			<div class="waiting" role="alert">
				<h2>{strings.shell.failed}</h2>
				<ul>
					{s.faults.map((f) => (
						<li key={f}>{f}</li>
					))}
				</ul>
			</div>
		);
	}
	return <p class="waiting soft">{strings.shell.loading}</p>;
}
