import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { folderFromDisk } from './folder-from-disk.ts';
import { Place } from './place/place.ts';

/** The package's folder, from dist/lib/commands. */
export const packageRoot = fileURLToPath(new URL('../../../', import.meta.url));

/** The sample field's folder. */
export async function sampleFolder(): Promise<string> {
	const root = join(packageRoot, 'sample-fields');
	const [name] = (await readdir(root, { withFileTypes: true })).filter((e) => e.isDirectory()).map((e) => e.name);
	if (!name) throw new Error('the package holds no sample field');
	return join(root, name);
}

/** `sample DIR`: writes the sample field. */
export async function sample(dir: string): Promise<string> {
	const from = await sampleFolder();
	const place = await Place.take(dir, { inputs: [from], listed: false });
	try {
		await place.publish((await folderFromDisk(from)).values());
	} finally {
		await place.release();
	}
	return `The sample field is in ${dir}. Its people, places and weights are invented.`;
}
