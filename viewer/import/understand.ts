/** In the worker: reads dropped files once, and interprets them again whenever an answer changes. */
import * as door from '../../lib/index.ts';
import type { GivenFile } from '../state/protocol.ts';
import type { Answers, ColumnSample, Understood } from './understood.ts';

let raw: door.RawSet | null = null;
let done: door.Intake | null = null;

const SAMPLE = 4;
const SHOWN_ASIDE = 200;
/** @param files null: the files read before, with new answers */
export async function understood(files: readonly door.Source[] | null, answers: Answers): Promise<Understood> {
	if (files) raw = await door.readSources(files);
	if (!raw) throw new Error('no files were read');
	done = door.understand(raw, { answers });
	const samples = new Map(done.tables.map((t) => [t.table.file, sampleOf(t.table)]));
	return {
		sources: done.report.sources.map((s) => ({ ...s, sample: samples.get(s.file) ?? [] })),
		fields: done.fields.map((f) => ({
			...f.report,
			tracks: f.tracks,
			rings: ringsOf(f.outline),
			timeZone: f.timeZone,
		})),
		setAside: done.report.set_aside.slice(0, SHOWN_ASIDE),
		setAsideCount: done.report.set_aside.length,
		units: door.unitNames(),
	};
}

/** The field folder made of them, as files. */
export async function folderFiles(folder: string): Promise<GivenFile[]> {
	const field = done?.fields.find((f) => f.report.folder === folder);
	if (!field) throw new Error('no such field');
	const out: GivenFile[] = [];
	for (const file of field.files) {
		const parts: BlobPart[] = [];
		for await (const chunk of file.chunks()) parts.push(chunk as BlobPart);
		out.push({ name: file.name, blob: new Blob(parts) });
	}
	return out;
}

/** Files of a zip that is a field folder or results folder; null for any other, which is read as a dropped file. */
export async function fieldZip(file: GivenFile): Promise<GivenFile[] | null> {
	const bytes = new Uint8Array(await file.blob.arrayBuffer());
	const inside = door.unzip({ name: file.name, bytes });
	if (!inside.some((s) => /(^|\/)(field|result)\.json$/.test(s.name))) return null;
	const out: GivenFile[] = [];
	for (const source of inside) {
		const name = source.name.slice(file.name.length + 1);
		if (name.startsWith('__MACOSX/')) continue;
		const parts: BlobPart[] = [];
		for await (const chunk of source.chunks()) parts.push(chunk as BlobPart);
		out.push({ name, blob: new Blob(parts) });
	}
	return out;
}

function sampleOf(table: door.Intake['tables'][number]['table']): ColumnSample[] {
	// From the middle: files often begin at a standstill, with repeated values.
	const rows = Array.from({ length: Math.min(SAMPLE, table.n) }, (_, k) => Math.floor(((k + 0.5) * table.n) / SAMPLE));
	return table.columns.map((c) => ({
		name: c.name,
		values: rows.map((i) => {
			const v = c.numbers ? c.numbers[i] : c.text?.[i];
			return typeof v === 'number' ? (Number.isNaN(v) ? '' : String(Number(v.toPrecision(9)))) : (v ?? '');
		}),
	}));
}

function ringsOf(outline: door.Intake['fields'][number]['outline']): [number, number][][] {
	if (outline === null) return [];
	const polygons = outline.type === 'Polygon' ? [outline.coordinates] : outline.coordinates;
	return polygons.flat() as [number, number][][];
}
