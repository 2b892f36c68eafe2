/** Runs the pipeline off the page's thread: files in, a packed scene out. Holds the last run for exports and pins. */
import * as door from '../../lib/index.ts';
import type { Answer, Ask, Edits, ExportName, GivenFile } from '../state/protocol.ts';

let run: door.Run | null = null;
/** The field as read, before any pins. */
let field: door.Field | null = null;
/** Results of stages of the last run, reused when something is pinned. */
let stages = new door.Stages();
let folder: door.Folder = new Map();

const post = (answer: Answer, transfer: Transferable[] = []) => postMessage(answer, { transfer });

/** Requests are handled one at a time: a pin waits until the field is read. */
let turn: Promise<void> = Promise.resolve();
addEventListener('message', ({ data }: MessageEvent<Ask>) => {
	turn = turn.then(() => answered(data));
});

async function answered(ask: Ask): Promise<void> {
	try {
		await answer(ask);
	} catch (fault) {
		const faults = fault instanceof door.InputFault ? [...fault.faults] : [];
		post({ id: ask.id, kind: 'fault', faults, message: fault instanceof Error ? fault.message : String(fault) });
	}
}

async function answer(ask: Ask): Promise<void> {
	const { id } = ask;
	switch (ask.kind) {
		case 'run': {
			folder = new Map(ask.files.map((f) => [f.name, sourceOf(f)]));
			stages = new door.Stages();
			run = null;
			field = await door.openField(folder, {}, progressOf(id));
			run = solve(field, ask.edits ?? { pins: field.plan.pins, flags: {} }, id);
			return ask.quiet ? post({ id, kind: 'ready' }) : send(id, run);
		}
		case 'solve': {
			if (!field) throw new Error('no field is open');
			run = solve(field, ask.edits, id);
			return send(id, run);
		}
		case 'results': {
			const { sceneOfResults } = await import('../import/results.ts');
			const block = door.packScene(await sceneOfResults(ask.files)).buffer;
			return post({ id, kind: 'scene', block }, [block]);
		}
		case 'unzip': {
			const { fieldZip } = await import('../import/understand.ts');
			return post({ id, kind: 'files', files: await fieldZip(ask.file) });
		}
		case 'understand': {
			const { understood } = await import('../import/understand.ts');
			return post({ id, kind: 'understood', seen: await understood(ask.files?.map(sourceOf) ?? null, ask.answers) });
		}
		case 'folder': {
			const { folderFiles } = await import('../import/understand.ts');
			return post({ id, kind: 'files', files: await folderFiles(ask.folder) });
		}
		case 'export': {
			if (!run) throw new Error('no field is open');
			const parts: BlobPart[] = [];
			for await (const chunk of await bytesOf(run, ask.name, ask.units)) parts.push(chunk as BlobPart);
			return post({ id, kind: 'bytes', blob: new Blob(parts) });
		}
	}
}

function progressOf(id: number): door.Progress {
	let last = 0;
	return door.progress((stage, share) => {
		// About one message per frame is enough; a million records would send thousands.
		const now = performance.now();
		if (now - last < 50 && share < 1) return;
		last = now;
		post({ id, kind: 'progress', stage, share });
	});
}

function solve(from: door.Field, edits: Edits, id: number): door.Run {
	const plan = { ...from.plan, pins: edits.pins, flags: { ...from.plan.flags, ...edits.flags } };
	return door.solveField({ ...from, plan }, progressOf(id), { stages });
}

function send(id: number, done: door.Run): void {
	const block = door.packScene(door.makeScene(done)).buffer;
	post({ id, kind: 'scene', block }, [block]);
}

function sourceOf(file: GivenFile): door.Source {
	return {
		name: file.name,
		bytes: file.blob.size,
		async *chunks() {
			const reader = file.blob.stream().getReader();
			for (;;) {
				const { done, value } = await reader.read();
				if (done) return;
				yield value;
			}
		},
	};
}

type Chunks = Iterable<Uint8Array> | AsyncIterable<Uint8Array>;

async function bytesOf(from: door.Run, name: ExportName, units: door.UnitSystem): Promise<Chunks> {
	switch (name) {
		case 'points.csv':
			return door.pointsCsv(from, units === 'us');
		case 'points.geojson':
			return door.pointsGeojson(from, units === 'us');
		case 'clean.csv':
			return door.cleanCsv(from, folder, units);
		case 'swaths.geojson':
			return door.swathsGeojson(from, units === 'us');
		case 'contours.geojson':
			return door.contoursGeojson(from, door.fieldContours(from), units === 'us');
		case 'columns.csv':
			return [door.columnsCsv(from, units, units === 'us')];
		case 'clean-points.zip':
			return [await door.shapefileZip(from, units)];
		case 'points.parquet':
			return [await door.geoparquet(from, units === 'us')];
		case 'map.tif':
			return [await door.mapTif(from, units === 'us')];
		case 'result.json':
			return door.resultJson(from.result);
		case 'report.html':
			return door.reportHtml(from, units);
	}
}
