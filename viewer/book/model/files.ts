/** Exports and imports files: through the share sheet if there is one, else as a download. */

import { download } from '../../state/download.ts';

/** Passes a file to the system's share sheet, or saves it. */
export async function giveFile(
	name: string,
	text: string | Uint8Array<ArrayBuffer>,
	type: string,
	share: boolean,
): Promise<void> {
	const file = new File([text], name, { type });
	if (share && navigator.canShare?.({ files: [file] })) {
		await navigator.share({ files: [file], title: name });
		return;
	}
	download(name, file);
}

export const canShareFiles = (): boolean =>
	navigator.canShare?.({ files: [new File(['x'], 'x.json', { type: 'application/json' })] }) ?? false;
