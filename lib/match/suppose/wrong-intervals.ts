import { inTimeOrder } from '../../model/index.ts';
import { contradictsTimes, intervalRatio } from '../../stats/index.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { type Part, scaledFlow, wholeLog } from './scaled-flow.ts';
import type { Supposition } from './supposition.ts';

/** Either the intervals are wrong, or the times or rows of the log: nats. */
const PRICE = Math.LN2;

/** Logs whose intervals are longer or shorter than the time between their rows: the times are right, the intervals wrong. */
export function wrongIntervals(plain: Explained): Supposition[] {
	const { input } = plain;
	const { records, plan } = input;
	const ratios = records.combines.map((_, c) => intervalRatio(records, inTimeOrder(records, c)));
	const wrong = ratios.flatMap((r, c) => (contradictsTimes(r) ? [c] : []));
	if (wrong.length === 0) return [];
	const sized = (c: number) => wholeLog(c, 1 / ratios[c]!);
	return [...wrong.map((c) => [c]), ...(wrong.length > 1 ? [wrong] : [])].map((some) => ({
		...scaledFlow(input, some.map(sized) as [Part, ...Part[]]),
		price: PRICE,
		caution: some
			.map((c) => {
				const log = plan.logs[records.log[records.combine.indexOf(c)]!];
				const column = log?.columns?.interval?.column ?? 'interval_s';
				const times = Number(ratios[c]!.toPrecision(3));
				return `The weights fit ${records.combines[c]}'s flow with the times of its rows, not with column ${column}, which is ${times} times the time between rows. Check its unit. The factor compensates for it.`;
			})
			.join(' '),
	}));
}

/** Whether any log's intervals contradict its times. */
export const intervalsContradict = ({ records }: MatchInput): boolean =>
	records.combines.some((_, c) => contradictsTimes(intervalRatio(records, inTimeOrder(records, c))));
