import type { Point } from './strips.ts';

/** What happened, as nobody in the field could know it. Times are UTC seconds; masses are certified kilograms, wet. */
export interface Truth {
	seed: number;
	kind: string;
	epsg: number;
	combines: CombineTruth[];
	/** Seconds to add to the cart's time to get the end of a dump: median over the dumps. */
	clock_offset_s: number;
	/** Certified / indicated by the cart. */
	ratio: number;
	/** Every emptying, in order of time. */
	unloadings: UnloadingTruth[];
	/** One a row of the cart's book (dumps only), by id. */
	dumps: DumpTruth[];
	/** Dry yield at market moisture at a place in meters of the field's UTM zone. */
	trueYield_kg_ha(x_m: number, y_m: number): number;
	/** Fields' ground cut, m² of ground, and the ring's own area. */
	area_m2: number;
	ring_m2: number;
	/** Outline in UTM meters. */
	ring_m: Point[];
	/** All grain, wet; and dry at market moisture. */
	wet_kg: number;
	dry_kg: number;
	/** Jump at seams of combine i against j as monitored: 100 × (reading i / reading j − 1) on the same crop. */
	jump_pct(i: number, j: number): number;
	/** Events in a weight trace. */
	trace: {
		time_s: number;
		event: 'dump' | 'offload';
		weight_kg: number;
		/** The cart moved during it; it set off before the weight had settled. */
		moved: boolean;
		hasty: boolean;
	}[];
	marketMoisture_pct: number;
}

export interface CombineTruth {
	name: string;
	/** True mass / monitor mass over the whole field as it came out, slow errors included, sensor faults left out. */
	factor: number;
	/** The factor as it was set, before slow errors and forms. */
	nominal: number;
	form: 'constant' | 'step' | 'trend' | 'flow';
	/** Mean delay from header to the written flow, smear and the monitor's own shift included. */
	lag_s: number;
	/** The same as seen from the antenna: less its distance over the usual speed, where field.json does not tell it. */
	effectiveLag_s: number;
	moistureLag_s: number;
	moistureOffset_pct: number;
	receiver: { east_m: number; north_m: number; right_m: number };
	wet_kg: number;
	/** Sum of the monitor's flow × interval with and without sensor faults. */
	monitor_kg: number;
	clean_kg: number;
	left_rel: number;
	/** True places and values, one a record in the log's order. */
	records: RecordTruth;
}

/** Columns, one value a record. */
export interface RecordTruth {
	time_s: Float64Array;
	/** Middle of the ground on which the record's grain was cut (UTM); NaN before there was any. */
	cutX_m: Float64Array;
	cutY_m: Float64Array;
	/** Ground newly cut in the record's own interval moved back by the lag. */
	area_m2: Float64Array;
	/** Dry yield there. */
	yield_kg_ha: Float64Array;
	/** Factor in force. */
	factor: Float64Array;
	/** 1 where a sensor fault was planted. */
	fault: Uint8Array;
}

export interface UnloadingTruth {
	combine: number;
	start_s: number;
	end_s: number;
	true_kg: number;
	restBefore_kg: number;
	restAfter_kg: number;
	/** Ids of the rows in the cart's book that hold its weight. */
	dumps: string[];
	/** Where the grain went and what was noted. */
	fate: 'saved' | 'unsaved' | 'straight' | 'silent';
	broken: boolean;
	onTheGo: boolean;
}

export interface DumpTruth {
	id: string;
	/** Names; two for a mixed weight. */
	combines: string[];
	/** Indices into `unloadings`; none for a repeat. */
	unloadings: number[];
	repeated: boolean;
	/** What may be said of it. */
	accept: ('used' | 'joined' | 'aside')[];
	true_kg: number;
}
