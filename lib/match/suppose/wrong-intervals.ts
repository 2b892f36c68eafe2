import { inTimeOrder } from '../../model/index.ts';
import { contradictsTimes, intervalRatios, median } from '../../stats/index.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { scaledFlow } from './scaled-flow.ts';
import type { Supposition } from './supposition.ts';

/** Either the intervals are wrong, or the times or rows of the log: nats. */
const PRICE = Math.LN2;
/** Wrong intervals in a smaller share of a log, or right ones, are its gaps. */
const FEW = 0.02;

/** Rows of a log whose intervals are longer or shorter than the time between them: the times are right, the intervals wrong. */
export function wrongIntervals({ input }: Explained): Supposition[] {
	const { records, plan } = input;
	const found = records.combines.flatMap((_, c) => wrongRows(input, c) ?? []);
	return [...found.map((one) => [one]), ...(found.length > 1 ? [found] : [])].map((some) => {
		const scale = new Float64Array(records.n).fill(1);
		for (const { rows, ratio } of some) for (const i of rows) scale[i] = 1 / ratio;
		const cautions = some.map(({ rows, ratio, part }) => {
			const column = plan.logs[records.log[rows[0]!]!]?.columns?.interval?.column ?? 'interval_s';
			const name = records.combines[records.combine[rows[0]!]!];
			return `The weights fit ${name}'s flow with the times of its rows, not with column ${column}, which is ${Number(ratio.toPrecision(3))} times the time between rows${part ? ' in part of the log' : ''}. Check its unit. The factor compensates for it.`;
		});
		return { ...scaledFlow(input, scale), price: PRICE, caution: cautions.join(' ') };
	});
}

/** Whether any log's intervals contradict its times. */
export const intervalsContradict = (input: MatchInput): boolean =>
	input.records.combines.some((_, c) => wrongRows(input, c) !== null);

/** A combine's records with wrong intervals, how many times too long these are, and whether that is but a part of its log. */
function wrongRows({ records }: MatchInput, c: number): { rows: Int32Array; ratio: number; part: boolean } | null {
	const all = inTimeOrder(records, c);
	const ratios = intervalRatios(records, all);
	const wrong = all.filter((_, k) => contradictsTimes(ratios[k]!));
	if (wrong.length <= FEW * all.length) return null;
	const part = wrong.length < (1 - FEW) * all.length;
	return { rows: part ? wrong : all, ratio: median(ratios.filter(contradictsTimes)), part };
}
