/** The contours of the open field: as they came with the scene, else made by the worker when they are first to be shown. */
import { computed, effect, signal } from '@preact/signals';
import { flatRing, insideRings } from '../../lib/index.ts';
import type { Contours, Scene } from '../../lib/model/index.ts';
import { exported } from '../engine/client.ts';
import { readyRun } from '../engine/open.ts';
import { scene } from '../state/field.ts';
import { overlays } from './state.ts';

export const contours = signal<Contours>([]);

/** The rings of each zone: degrees, flat. */
const rings = computed(() => contours.value.map(({ geometry }) => geometry.coordinates.flat().map(flatRing)));

/** The contour zone that contains a place in degrees, or −1. */
export const zoneAt = (lon: number, lat: number): number =>
	rings.value.findIndex((zone) => insideRings(zone, lon, lat));

effect(() => {
	const s = scene.value;
	const given = s?.facts.contours ?? null;
	contours.value = given ?? [];
	if (s && !given && overlays.value.contours) make(s).catch(() => (contours.value = []));
});

async function make(s: Scene): Promise<void> {
	await readyRun();
	s.facts.contours = JSON.parse(await (await exported('contours.geojson')).text()).features as Contours;
	if (scene.peek() === s) contours.value = s.facts.contours;
}
