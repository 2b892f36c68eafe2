/** Messages between page and worker. Files are sent as blobs, which are not copied until they are read. */
import type { Pins, SetAside } from '../../lib/model/index.ts';
import type { UnitSystem } from '../../lib/units/index.ts';
import type { Answers, Understood } from '../import/understood.ts';

export interface GivenFile {
	/** Path relative to the folder, forward slashes. */
	name: string;
	blob: Blob;
}

/** The user's overrides, which take precedence over field.json and are saved in it. */
export interface Edits {
	pins: Pins;
	/** Thresholds of flags, by flag word. */
	flags: Record<string, number>;
}

export type ExportName =
	| 'columns.csv'
	| 'points.csv'
	| 'points.geojson'
	| 'clean.csv'
	| 'swaths.geojson'
	| 'contours.geojson'
	| 'clean-points.zip'
	| 'points.parquet'
	| 'map.tif'
	| 'result.json'
	| 'report.html';

export type Ask =
	/** `quiet`: the page has the scene already and needs only the run. */
	| { id: number; kind: 'run'; files: GivenFile[]; edits: Edits | null; quiet: boolean }
	| { id: number; kind: 'solve'; edits: Edits }
	| { id: number; kind: 'results'; files: GivenFile[] }
	| { id: number; kind: 'unzip'; file: GivenFile }
	| { id: number; kind: 'understand'; files: GivenFile[] | null; answers: Answers }
	| { id: number; kind: 'folder'; folder: string }
	| { id: number; kind: 'export'; name: ExportName; units: UnitSystem };

export type Answer =
	| { id: number; kind: 'progress'; stage: string; share: number }
	| { id: number; kind: 'scene'; block: ArrayBuffer }
	| { id: number; kind: 'ready' }
	| { id: number; kind: 'files'; files: GivenFile[] | null }
	| { id: number; kind: 'understood'; seen: Understood }
	| { id: number; kind: 'bytes'; blob: Blob }
	| { id: number; kind: 'fault'; faults: SetAside[]; message: string };
