/** Files from a drop or a file picker, including those in folders. */
import type { GivenFile } from '../state/protocol.ts';

/** Everything in a drop: files, and folders with all their files. */
export async function fromDrop(data: DataTransfer): Promise<GivenFile[]> {
	// Entries must be taken before the first await: the drop's list is emptied afterward.
	const entries = [...data.items].flatMap((item) => {
		const entry = item.kind === 'file' ? item.webkitGetAsEntry() : null;
		return entry ? [entry] : [];
	});
	if (entries.length === 0) return fromList(data.files);
	const out: GivenFile[] = [];
	for (const entry of entries) await walk(entry, out);
	return out;
}

export function fromList(list: FileList | null): GivenFile[] {
	return [...(list ?? [])].map((f) => ({ name: f.webkitRelativePath || f.name, blob: f }));
}

async function walk(entry: FileSystemEntry, out: GivenFile[]): Promise<void> {
	const name = entry.fullPath.replace(/^\//, '');
	if (entry.isFile) {
		const blob = await new Promise<File>((done, fail) => (entry as FileSystemFileEntry).file(done, fail));
		out.push({ name, blob });
		return;
	}
	const reader = (entry as FileSystemDirectoryEntry).createReader();
	for (;;) {
		// A directory reader returns up to a hundred entries at a time, and none when it is done.
		const some = await new Promise<FileSystemEntry[]>((done, fail) => reader.readEntries(done, fail));
		if (some.length === 0) return;
		for (const child of some) await walk(child, out);
	}
}
