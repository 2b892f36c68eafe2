import { lengthInBoth } from '../units/index.ts';
import type { SeamValue } from './pool-jumps.ts';
import { MOST_BETWEEN, type SampledSeams } from './sample-seams.ts';

/** The seams of a pair that are used, as indices into all seams. */
export interface ChosenSeams {
	use: readonly number[];
	/** The pair meets only where the variety changes. */
	betweenVarieties: boolean;
	length_m: number;
}

/** What a pair of combines was compared by. */
interface Compared {
	list: readonly number[];
	chosen: ChosenSeams;
	values: readonly SeamValue[];
	/** Grain of passes cut at different times was brought to the same moisture. */
	dried: boolean;
}

/** Why a pair's difference is less certain than it may look, and what was allowed for. */
export function jumpRemarks(sampled: SampledSeams, { list, chosen, values, dried }: Compared): string[] {
	const { seams, blocks, records, halves } = sampled;
	const { combineA, combineB } = seams[chosen.use[0]!]!;
	const [a, b] = [records.combines[combineA]!, records.combines[combineB]!];
	const remarks: string[] = [];
	const excluded = list.filter((i) => seams[i]!.excluded !== null);
	const short = list.filter((i) => blocks[i]!.length === 0 && list.length <= MOST_BETWEEN);
	const left = new Set([...excluded, ...short]).size;
	if (chosen.betweenVarieties) {
		remarks.push(`Combines ${a} and ${b} meet only where the variety changes; the difference there is unreliable.`);
	} else if (left > 0) {
		const why = excluded.length > 0 ? 'the variety changes there' : 'too little of them was cut with a full header';
		remarks.push(`${left} of ${list.length} seams between ${a} and ${b} are not used: ${why}.`);
	}
	if (values.every((v) => v.side === values[0]!.side) && values.length > 1) {
		remarks.push(
			`Combine ${a} always cut on the same side of ${b}. A change across the field would look the same; swap sides ` +
				'in a few rounds.',
		);
	}
	if (values.length < 3) {
		const few = values.length === 1 ? '1 seam' : '2 seams';
		remarks.push(`Combines ${a} and ${b} meet along ${few} only, so the difference is less certain.`);
	}
	if (dried) remarks.push('Where passes were cut at different times, their yields were brought to the same moisture.');
	if (halves) {
		const size = (100 * Math.abs(halves.log_rel)).toFixed(1);
		remarks.push(
			`Yields alternate by ${size}% in strips of ${lengthInBoth(halves.strip_m)}, a pattern like that of two planter halves. ` +
				'It is removed from the difference.',
		);
	}
	return remarks;
}
