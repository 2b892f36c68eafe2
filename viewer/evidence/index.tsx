/** The chain of evidence: certified scale → cart → dumps → factors → seams → map. */
import { scene } from '../store/field.ts';

export function Evidence() {
	const s = scene.value;
	return <aside class="evidence">{s?.facts.field.name}</aside>;
}
