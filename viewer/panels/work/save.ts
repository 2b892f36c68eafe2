/** Out of the page: a file by the save picker where there is one, by download otherwise. */

import { scene } from '../../state/field.ts';

interface Picker {
	showSaveFilePicker?(options: { suggestedName: string }): Promise<{
		createWritable(): Promise<{ write(data: Blob): Promise<void>; close(): Promise<void> }>;
	}>;
}

/** A file's name with its field and season before it, so that many fields can lie in one folder. */
export function fileName(name: string): string {
	const field = scene.value?.facts.field;
	const stem = [field?.name ?? 'field', field?.season].filter((x) => x !== null && x !== undefined).join('-');
	return `${stem.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-+|-+$/g, '') || 'field'}-${name}`;
}

/** True once written; false where the user changed their mind. */
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
	const link = document.createElement('a');
	link.href = URL.createObjectURL(blob);
	link.download = name;
	link.click();
	setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
	return true;
}
