/** Exports and imports files: through the share sheet if there is one, else as a download. */

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
	const link = document.createElement('a');
	link.href = URL.createObjectURL(file);
	link.download = name;
	link.click();
	setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

export const canShareFiles = (): boolean =>
	navigator.canShare?.({ files: [new File(['x'], 'x.json', { type: 'application/json' })] }) ?? false;
