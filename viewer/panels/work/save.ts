/** Saves a file by the browser's save picker if available, else by download. */

import { download } from '../../state/download.ts';
import { scene } from '../../state/field.ts';

interface Picker {
	showSaveFilePicker?(options: { suggestedName: string }): Promise<{
		createWritable(): Promise<{ write(data: Blob): Promise<void>; close(): Promise<void> }>;
	}>;
}

/** A file name that starts with field and season, so that files of many fields can be in one folder. */
export function fileName(name: string): string {
	const field = scene.value?.facts.field;
	const stem = [field?.name ?? 'field', field?.season].filter((x) => x !== null && x !== undefined).join('-');
	return `${stem.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-+|-+$/g, '') || 'field'}-${name}`;
}

/** True once written; false where the user canceled. */
export async function saveAs(name: string, blob: Blob, pick = false): Promise<boolean> {
	const picker = (window as Picker).showSaveFilePicker;
	if (pick && picker) {
		try {
			const handle = await picker({ suggestedName: name });
			const out = await handle.createWritable();
			await out.write(blob);
			await out.close();
			return true;
		} catch (fault) {
			if ((fault as Error).name === 'AbortError') return false;
		}
	}
	download(name, blob);
	return true;
}
