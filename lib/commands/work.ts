import { type RunOfRecords, TASKS } from '../index.ts';
import { RECORD_FILES, type Shown } from './outputs.ts';
import { writeWhole } from './place/disk.ts';
import type { Written } from './place/manifest.ts';

export interface RecordFile {
	name: keyof typeof RECORD_FILES;
	path: string;
	run: RunOfRecords;
	shown: Shown;
}

/** What other threads do. */
export const WORK = {
	...TASKS,
	/** Writes a file of records. */
	write: ({ name, path, run, shown }: RecordFile): Promise<Written> =>
		writeWhole(path, { name, chunks: () => RECORD_FILES[name](run, shown) }),
};

export type Work = typeof WORK;
