/** The contours of the open field: as they came with the scene, else made by the worker when they are first to be shown. */
import { effect, signal } from '@preact/signals';
import type { Contours, Scene } from '../../lib/model/index.ts';
import { exported } from '../engine/client.ts';
import { readyRun } from '../engine/open.ts';
import { scene } from '../state/field.ts';
import { overlays } from './state.ts';

export const contours = signal<Contours>([]);

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
