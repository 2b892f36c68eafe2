import { join } from 'node:path';
import { type RunOfRecords, TASKS } from '../../index.ts';
import { RECORD_FILES, type Shown } from '../outputs.ts';
import { writeWhole } from '../place/disk.ts';
import type { Written } from '../place/manifest.ts';

/** Files of records, of which every thread takes the next one as it comes to it. */
export interface RecordFiles {
	folder: string;
	names: readonly (keyof typeof RECORD_FILES)[];
	/** How many are taken. */
	taken: Int32Array;
	run: RunOfRecords;
	shown: Shown;
}

/** The next file, for the thread that asks. */
const takeFile = ({ names, taken }: RecordFiles) => names[Atomics.add(taken, 0, 1)];

/** Writes files of records until all are taken, or this one has written so many. */
export async function writeFiles(files: RecordFiles, most = Infinity): Promise<Written[]> {
	const { folder, run, shown } = files;
	const written: Written[] = [];
	for (let k = 0; k < most; k++) {
		const name = takeFile(files);
		if (name === undefined) break;
		// A file that fails is written by the thread that asked, and fails there.
		const done = await writeWhole(join(folder, name), {
			name,
			chunks: () => RECORD_FILES[name](run, shown),
		}).catch(() => null);
		if (done) written.push(done);
	}
	return written;
}

/** What other threads do. */
export const WORK = {
	...TASKS,
	write: (files: RecordFiles) => writeFiles(files),
};

export type Work = typeof WORK;
