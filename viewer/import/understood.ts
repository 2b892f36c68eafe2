/** What the page gets about dropped files: plain values from the worker. */
import type { IntakeReport, Role, Track } from '../../lib/index.ts';

/** A column of a file with the first of its values. */
export interface ColumnSample {
	name: string;
	values: string[];
}

export type SeenSource = IntakeReport['sources'][number] & {
	/** First values by column; empty if the file has no table. */
	sample: ColumnSample[];
};

export type SeenField = IntakeReport['fields'][number] & {
	tracks: Track[];
	/** Rings of its boundary, [longitude, latitude]. */
	rings: [number, number][][];
	/** IANA name; null if unknown, and then times are shown in UTC. */
	timeZone: string | null;
};

export interface Understood {
	sources: SeenSource[];
	fields: SeenField[];
	/** Rows left out: the first of them, and their number. */
	setAside: IntakeReport['set_aside'];
	setAsideCount: number;
	/** Units that each role may be in. */
	units: Partial<Record<Role, string[]>>;
}

/** Answers by file, header signature or folder, then by question. */
export type Answers = Record<string, Record<string, unknown>>;
