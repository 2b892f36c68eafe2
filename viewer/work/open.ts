/** Getting a field onto the page. */
import { unpackScene } from '../../lib/model/scene.ts';
import { origin, scene, status } from '../store/field.ts';

/** What `view` computed, where this page is served by it. */
export async function openServed(): Promise<boolean> {
	status.value = { kind: 'working', stage: 'open', share: 0 };
	const answer = await fetch('./opened/scene.bin').catch(() => null);
	if (!answer?.ok) {
		status.value = { kind: 'empty' };
		return false;
	}
	scene.value = unpackScene(await answer.arrayBuffer());
	origin.value = 'served';
	status.value = { kind: 'open' };
	return true;
}
