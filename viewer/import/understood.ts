/** What the page is shown of files as they come: plain values, sent by the worker. */
import type { IntakeReport, Role, Track } from '../../lib/index.ts';

/** A column of a file with the first of its values. */
export interface ColumnSample {
	name: string;
	values: string[];
}

export type SeenSource = IntakeReport['sources'][number] & {
	/** First values by column; empty where the file holds no table. */
	sample: ColumnSample[];
};

export type SeenField = IntakeReport['fields'][number] & {
	tracks: Track[];
	/** Rings of its boundary, [longitude, latitude]. */
	rings: [number, number][][];
	/** IANA name; null where none is known, and times are shown in UTC. */
	timeZone: string | null;
};

export interface Understood {
	sources: SeenSource[];
	fields: SeenField[];
	/** Rows left out: the first of them, and how many there are. */
	setAside: IntakeReport['set_aside'];
	setAsideCount: number;
	/** Units that each role may come in. */
	units: Partial<Record<Role, string[]>>;
}

/** Answers by file, header signature or folder, then by what is asked. */
export type Answers = Record<string, Record<string, unknown>>;
