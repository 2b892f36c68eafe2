/** Files as exported: read in the worker and shown with how they were interpreted. */
import { batch } from '@preact/signals';
import { answers, checking, given, seen } from '../import/state.ts';
import { scene, status } from '../state/field.ts';
import { keptAnswers } from '../state/persist.ts';
import type { GivenFile } from '../state/protocol.ts';
import { understandInWorker } from './client.ts';

/** Reads files and shows how they were interpreted, using answers kept from earlier files. */
export async function check(files: GivenFile[]): Promise<void> {
	const kept = await keptAnswers().catch(() => ({}));
	const found = await understandInWorker(files, kept);
	batch(() => {
		given.value = files;
		answers.value = kept;
		seen.value = found;
		checking.value = true;
		status.value = scene.value ? { kind: 'open' } : { kind: 'empty' };
	});
}
