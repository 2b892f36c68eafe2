import type { Crop, Records } from '../../model/index.ts';
import { upperMedian } from '../../stats/index.ts';
import { ACRE_M2, FOOT_M, HECTARE_M2, POUND_KG } from '../../units/index.ts';
import { confusions } from './confusions.ts';

const LEAST = 30;
/** Number of records that is enough to estimate the ratio. */
const MOST = 20_000;
/** Wet or dry basis, a delay, grain left out: these alone make a yield column differ from the flow by a tenth and more. */
const NEAR = 0.12;

/** A log's own yield and its flow, compared on the same records, in the library's own units. */
export class OwnYield {
	private readonly ratios: number[] = [];

	constructor(
		private readonly yieldName: string,
		private readonly flowName: string,
		private readonly crop: Crop,
	) {}

	look(records: Records, i: number, yield_kg_ha: number): void {
		const area_ha = (records.distance_m[i]! * records.swath_m[i]!) / 1e4;
		const kg = records.flow_kg_s[i]! * records.interval_s[i]!;
		if (this.ratios.length < MOST && kg > 0 && area_ha > 0 && yield_kg_ha > 0 && Number.isFinite(yield_kg_ha)) {
			this.ratios.push(kg / area_ha / yield_kg_ha);
		}
	}

	/** The remark on the ratio, or null if it is about one. */
	text(): string | null {
		if (this.ratios.length < LEAST) return null;
		const ratio = upperMedian(this.ratios);
		if (Math.abs(Math.log(ratio)) < 0.25) return null;
		const known = [
			...confusions('kilograms', 'pounds', POUND_KG),
			...confusions('acres', 'hectares', HECTARE_M2 / ACRE_M2),
			...confusions('kilograms', 'bushels', this.crop.bushel_kg),
			...confusions('kilograms', 'metric tons', 1000),
			[1 / FOOT_M, 'feet read as meters, or meters as feet'] as const,
			[FOOT_M, 'feet read as meters, or meters as feet'] as const,
		];
		const looks = known.find(([one]) => Math.abs(Math.log(ratio / one)) < NEAR);
		const like = looks ? `: it looks like ${looks[1]}` : '';
		return `column ${this.flowName} says ${Number(ratio.toPrecision(3))} times the yield of column ${this.yieldName}. Check the unit of both, and of width, distance and interval${like}.`;
	}
}
