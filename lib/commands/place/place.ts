import { rmdirSync, rmSync } from 'node:fs';
import { mkdir, rm, rmdir, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { CallFault, type Output } from '../../index.ts';
import { syncFolder, unwritable, writeWhole } from './disk.ts';
import { mustBeOurs, mustNotCover, mustSpare, type PlaceOptions, realPlace } from './guard.ts';
import { type Elsewhere, writeAll } from './lanes.ts';
import { MANIFEST, manifestText } from './manifest.ts';
import { take } from './owner.ts';
import { buildingOf, mendSwap, swap, sweep } from './swap.ts';

/**
 * An output folder owned by this run. Results are built in a hidden folder beside it, which also locks out other runs, and
 * replace it as a whole. At every moment of a replacement the old or the new result exists under the folder's name or
 * under `NAME.being-replaced`; the next run completes what a killed run left.
 */
export class Place {
	private swapping = false;
	private wantsToStop = false;
	private readonly stopped = () => {
		// Between the renames there is no folder, so stop only after the swap.
		if (this.swapping) this.wantsToStop = true;
		else this.exit();
	};

	private constructor(
		private readonly shown: string,
		private readonly out: string,
		private readonly options: PlaceOptions,
		/** Parent folders of `out` that were created for it. */
		private made: readonly string[],
	) {}

	private get building(): string {
		return buildingOf(this.out);
	}

	/** The folder in which the files are written before they are moved into place. */
	get built(): string {
		return join(this.building, 'built');
	}

	/** @throws CallFault where the folder cannot or must not be written. */
	static async take(dir: string, options: PlaceOptions): Promise<Place> {
		const out = await realPlace(dir);
		await mustSpare(dir, out, options.inputs);
		const made: string[] = [];
		let taken: boolean;
		try {
			for (let at = dirname(out); !(await stat(at).catch(() => null)); at = dirname(at)) made.push(at);
			await mkdir(dirname(out), { recursive: true });
			await sweep(out);
			taken = await take(buildingOf(out));
		} catch (fault) {
			throw unwritable(dir, fault);
		}
		if (!taken) throw new CallFault(`--out ${dir}: another run is writing there; wait for it, or name another folder`);
		const place = new Place(dir, out, options, made);
		try {
			await mendSwap(out);
			await mustBeOurs(dir, out, options);
			await mkdir(place.built);
			return place;
		} catch (fault) {
			await place.release();
			throw fault;
		}
	}

	/** Writes the files, but for those that are written elsewhere, and moves all into place. */
	async publish(outputs: Iterable<Output>, elsewhere: Elsewhere | null = null): Promise<void> {
		const { built } = this;
		// Only from here on: during computation handlers would not run, and a signal must end the process.
		for (const signal of SIGNALS) process.once(signal, this.stopped);
		try {
			const written = await writeAll(built, [...outputs], elsewhere);
			const folders = new Set(written.map(({ file }) => dirname(join(built, file))));
			for (const folder of folders) if (folder !== built) await syncFolder(folder);
			if (this.options.listed !== false) {
				const bytes = new TextEncoder().encode(manifestText(written));
				await writeWhole(join(built, MANIFEST), { name: MANIFEST, chunks: () => [bytes] });
			}
			await syncFolder(built);
			// Check again, since hours may have passed.
			await mustBeOurs(this.shown, this.out, this.options);
			if (this.options.keepStrangers)
				await mustNotCover(this.shown, this.out, [...written.map((w) => w.file), MANIFEST]);
			this.swapping = true;
			await swap(this.out, built);
			this.made = [];
		} catch (fault) {
			throw unwritable(this.shown, fault);
		} finally {
			this.swapping = false;
			for (const signal of SIGNALS) process.off(signal, this.stopped);
			if (this.wantsToStop) this.exit();
		}
	}

	/** Releases the folder; always call it. */
	async release(): Promise<void> {
		await rm(this.building, { recursive: true, force: true });
		for (const path of this.made) await rmdir(path).catch(() => undefined);
	}

	private exit(): never {
		rmSync(this.building, { recursive: true, force: true });
		try {
			for (const path of this.made) rmdirSync(path);
		} catch {
			// Something else was created there meanwhile.
		}
		process.exit(130);
	}
}

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
