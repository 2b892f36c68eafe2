/** The files of records, written while the run goes on, on all threads: they need neither the grid nor the result. */
import type { RunOfRecords } from '../../index.ts';
import { RECORD_FILES, type Shown } from '../outputs.ts';
import type { Elsewhere } from '../place/lanes.ts';
import type { Written } from '../place/manifest.ts';
import type { Threads } from './threads.ts';
import { type RecordFiles, writeFiles } from './work.ts';

/** null: there are no other threads. */
export const filesAhead = (threads: Threads | undefined, folder: string, shown: Shown): FilesAhead | null =>
	threads && threads.most > 0 ? new FilesAhead(threads, folder, shown) : null;

export class FilesAhead implements Elsewhere {
	readonly names = Object.keys(RECORD_FILES) as (keyof typeof RECORD_FILES)[];
	private readonly taken = new Int32Array(new SharedArrayBuffer(4));
	private readonly orders: Promise<Written[]>[] = [];
	private files: RecordFiles | null = null;

	/** @param folder - where they are written */
	constructor(
		private readonly threads: Threads,
		private readonly folder: string,
		private readonly shown: Shown,
	) {}

	/**
	 * Begins, with one file on this thread while the run waits for another, and on all others but one where there are several: that one
	 * goes on with parts of the run.
	 */
	begin({ field, track, yields, match }: RunOfRecords): void {
		const { plan, records } = field;
		const run = {
			field: { plan, records },
			track: { ...track, passes: [] },
			yields,
			match: { unloadings: match.unloadings },
		};
		this.files = { folder: this.folder, names: this.names, taken: this.taken, run, shown: this.shown };
		for (let k = 0; k < Math.max(1, this.threads.most - 1); k++) this.order(this.files);
		this.orders.push(writeFiles(this.files, 1));
	}

	async finish(): Promise<Written[]> {
		// The run is made, so that all threads are free to write.
		while (this.files && this.orders.length <= this.threads.most) this.order(this.files);
		if (this.files) this.orders.push(writeFiles(this.files));
		return (await Promise.all(this.orders)).flat();
	}

	/** Begins no more files, and waits for those that are begun. */
	async end(): Promise<void> {
		Atomics.store(this.taken, 0, this.names.length);
		await Promise.all(this.orders);
	}

	private order(files: RecordFiles): void {
		this.orders.push(this.threads.order('write', files).catch(() => []));
	}
}
