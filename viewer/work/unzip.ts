/** The files of a zip. */
import { unzip } from 'fflate';
import type { GivenFile } from './protocol.ts';

export async function unzipped(blob: Blob): Promise<GivenFile[]> {
	const bytes = new Uint8Array(await blob.arrayBuffer());
	const entries = await new Promise<Record<string, Uint8Array>>((done, fail) =>
		unzip(bytes, (fault, files) => (fault ? fail(fault) : done(files))),
	);
	return Object.entries(entries)
		.filter(([name]) => !name.endsWith('/') && !name.startsWith('__MACOSX/'))
		.map(([name, content]) => ({ name, blob: new Blob([content as BlobPart]) }));
}
