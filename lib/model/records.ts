/**
 * Every record of every log, in the logs' order: columns of length n. A missing number is NaN, a missing
 * yes/no is −1. Records are never removed. Faulty rows do not become records; they are listed as set aside.
 */
export interface Records {
	n: number;
	/** Names of combines; `combine[i]` indexes this. */
	combines: string[];
	combine: Uint8Array;
	/** Index into FieldPlan.logs. */
	log: Uint16Array;
	/** Line in its file, the header being 1. */
	line: Uint32Array;
	/** End of the record's interval, seconds since 1970, UTC. */
	time_s: Float64Array;
	lat_deg: Float64Array;
	lon_deg: Float64Array;
	/** Wet mass flow at the sensor. */
	flow_kg_s: Float64Array;
	/** Time that the record stands for, `lost_s` included. */
	interval_s: Float64Array;
	distance_m: Float64Array;
	swath_m: Float64Array;
	/** Wet basis. */
	moisture_pct: Float64Array;
	/** 1 down, 0 up, −1 not known. */
	headerDown: Int8Array;
	/** 1 unloading auger on, 0 off, −1 not known. */
	augerOn: Int8Array;
	speed_m_s: Float64Array;
	heading_deg: Float64Array;
	elevation_m: Float64Array;
	/** Index into `varieties`, −1 none. */
	variety: Int16Array;
	varieties: string[];
	/** The monitor's own load number as an index into `loads`, −1 none. */
	load: Int32Array;
	loads: string[];
	/** Seconds of `interval_s` whose own rows are missing, the machine having gone straight on. Absent: none. */
	lost_s?: Float64Array;
	/** 1 where the log gave no time: `time_s` is then the previous record's plus the interval. Absent: all have times. */
	untimed?: Uint8Array;
}

/** Allocates n records with every value missing. */
export function emptyRecords(n: number): Records {
	const numbers = () => new Float64Array(n).fill(Number.NaN);
	return {
		n,
		combines: [],
		combine: new Uint8Array(n),
		log: new Uint16Array(n),
		line: new Uint32Array(n),
		time_s: numbers(),
		lat_deg: numbers(),
		lon_deg: numbers(),
		flow_kg_s: numbers(),
		interval_s: numbers(),
		distance_m: numbers(),
		swath_m: numbers(),
		moisture_pct: numbers(),
		headerDown: new Int8Array(n).fill(-1),
		augerOn: new Int8Array(n).fill(-1),
		speed_m_s: numbers(),
		heading_deg: numbers(),
		elevation_m: numbers(),
		variety: new Int16Array(n).fill(-1),
		varieties: [],
		load: new Int32Array(n).fill(-1),
		loads: [],
	};
}

/** Indices of one combine's records in order of time; records of equal time keep the file's order. */
export function inTimeOrder(records: Records, combine: number): Int32Array {
	let count = 0;
	for (let i = 0; i < records.n; i++) if (records.combine[i] === combine) count++;
	const index = new Int32Array(count);
	let k = 0;
	let sorted = true;
	for (let i = 0; i < records.n; i++) {
		if (records.combine[i] !== combine) continue;
		if (k > 0 && records.time_s[index[k - 1]!]! > records.time_s[i]!) sorted = false;
		index[k++] = i;
	}
	if (sorted) return index;
	// Typed-array sort with a comparator is stable since ES2019.
	return index.sort((a, b) => records.time_s[a]! - records.time_s[b]!);
}
