import type { RawFile } from '../formats/index.ts';
import type { Output } from '../model/index.ts';
import type { ColumnReading, LeftOut, Question, Use } from './model.ts';

/** intake.json. */
export interface IntakeReport {
	schema: 'steelyard.intake/1';
	sources: SourceReport[];
	fields: FieldReport[];
	set_aside: LeftOut[];
	/** Files written to disk: paths from the root. */
	files?: { file: string; bytes: number; sha256: string }[];
}

/** A source in intake.json: what it was read as, column by column. */
export interface SourceReport {
	file: string;
	bytes: number;
	sha256: string;
	kind: string | null;
	use: Use;
	why: string;
	/** Key under which answers about files of this layout are kept. */
	signature: string | null;
	columns: ColumnReading[];
	notes: string[];
	questions: Question[];
}

/** A field in intake.json. */
export interface FieldReport {
	folder: string;
	name: string;
	crop: string | null;
	crop_because: string | null;
	boundary: boolean;
	because: string;
	combines: {
		name: string;
		records: number;
		start: string | null;
		end: string | null;
		monitor_kg: number;
		area_ha: number;
		sources: string[];
	}[];
	dumps: number;
	tickets: number;
	notes: string[];
	questions: Question[];
}

/** A file that gave nothing, or that gave several tables: its own entry. */
export function sourceOf(file: RawFile, use: Use, why: string): SourceReport {
	const { file: name, bytes, sha256, kind } = file;
	return { file: name, bytes, sha256, kind, use, why, signature: null, columns: [], notes: [], questions: [] };
}

/** intake.json as a file. */
export function intakeJson(report: IntakeReport): Output {
	const rounded = (key: string, value: unknown) =>
		key === 'sure' && typeof value === 'number' ? Math.round(value * 100) / 100 : value;
	const bytes = new TextEncoder().encode(`${JSON.stringify(report, rounded, '\t')}\n`);
	return { name: 'intake.json', chunks: () => [bytes] };
}
