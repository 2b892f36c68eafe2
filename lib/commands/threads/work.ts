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

/** What other threads do. */
export const WORK = {
	...TASKS,
	/** Writes files of records until all are taken. */
	async write(files: RecordFiles): Promise<Written[]> {
		const { folder, run, shown } = files;
		const written: Written[] = [];
		for (let name = takeFile(files); name !== undefined; name = takeFile(files)) {
			const chunks = () => RECORD_FILES[name](run, shown);
			// A file that fails is written by the thread that asked, and fails there.
			const done = await writeWhole(join(folder, name), { name, chunks }).catch(() => null);
			if (done) written.push(done);
		}
		return written;
	},
};

export type Work = typeof WORK;
