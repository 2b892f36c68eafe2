/** The files of a zip. In one go: this runs in a worker, and a worker of its own the page's policy would refuse. */
import { unzipSync } from 'fflate';
import type { GivenFile } from '../state/protocol.ts';

export async function unzipped(blob: Blob): Promise<GivenFile[]> {
	const entries = unzipSync(new Uint8Array(await blob.arrayBuffer()));
	return Object.entries(entries)
		.filter(([name]) => !name.endsWith('/') && !name.startsWith('__MACOSX/'))
		.map(([name, content]) => ({ name, blob: new Blob([content as BlobPart]) }));
}
