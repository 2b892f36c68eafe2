import type { FeatureCollection, MultiPolygon, Polygon } from 'geojson';
import type { Comparison } from './compare.ts';
import type { Factors } from './factor.ts';
import type { Note, SetAside } from './fault.ts';
import type { FieldPlan } from './field.ts';
import type { LoadBook, WeightTrace } from './load-book.ts';
import type { Surface, Yields } from './map.ts';
import type { Account, Match } from './match.ts';
import type { Records } from './records.ts';
import type { MoistureOffset, Reference } from './reference.ts';
import type { Result } from './result.ts';
import type { Seam, SeamJump } from './seam.ts';
import type { Track } from './track.ts';

/** A field folder as read. */
export interface Field {
	plan: FieldPlan;
	records: Records;
	book: LoadBook;
	/** WGS 84, checked and repaired; null where none was given. */
	boundary: Polygon | MultiPolygon | null;
	/** Variety polygons, or null. */
	varieties: FeatureCollection<Polygon | MultiPolygon, { variety: string }> | null;
	/** The cart indicator's weight against time, as read; null where none was given. */
	trace?: WeightTrace | null;
	/** Every row and other input not used, with its reason. */
	setAside: SetAside[];
	notes: Note[];
	/** Every file read: rows (0 where not a table), size and SHA-256 in hex. */
	inputs: { file: string; rows: number; bytes: number; sha256: string }[];
}

/** Everything that one run of the pipeline found: input of the writers and the viewer. */
export interface Run {
	field: Field;
	account: Account;
	track: Track;
	reference: Reference;
	match: Match;
	moisture: MoistureOffset[];
	factors: Factors;
	seams: { seams: Seam[]; jumps: SeamJump[] };
	yields: Yields;
	surface: Surface;
	/** Combines side by side; no pairs where there is only one. */
	comparison: Comparison;
	result: Result;
}

/** What the stages read of the logs: the plan, the records, their mass and their ground. */
export type Tracked = Pick<Field, 'plan' | 'records'> & Pick<Run, 'account' | 'track'>;

/** The part of a run that the files of records are made from. */
export interface RunOfRecords {
	field: Pick<Field, 'plan' | 'records'>;
	track: Track;
	yields: Yields;
	match: Pick<Match, 'unloadings'>;
}

/** A run before its result is written. */
export type RunSoFar = Omit<Run, 'result'>;
