import { inTimeOrder, type Records, remembered } from '../../model/index.ts';
import { type WrongIntervals, wrongIntervals } from '../../stats/index.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { scaledFlow } from './scaled-flow.ts';
import type { Supposition } from './supposition.ts';

/** Either the intervals are wrong, or the times or rows of the log: nats. */
const PRICE = Math.LN2;

/** Rows of a log whose intervals are longer or shorter than the time between them: the times are right, the intervals wrong. */
export function byTimes({ input }: Explained): Supposition[] {
	const { records, plan } = input;
	const found = wrongLogs(records);
	return [...found.map((one) => [one]), ...(found.length > 1 ? [found] : [])].map((some) => {
		const scale = new Float64Array(records.n).fill(1);
		for (const { rows, ratio } of some) for (const i of rows) scale[i] = 1 / ratio;
		const cautions = some.map(({ rows, ratio, share }) => {
			const column = plan.logs[records.log[rows[0]!]!]?.columns?.interval?.column ?? 'interval_s';
			const name = records.combines[records.combine[rows[0]!]!];
			return `The weights fit ${name}'s flow with the times of its rows, not with column ${column}, which is ${Number(ratio.toPrecision(3))} times the time between rows${share < 1 ? ' in part of the log' : ''}. Check its unit. The factor compensates for it.`;
		});
		return { ...scaledFlow(input, scale), price: PRICE, caution: cautions.join(' ') };
	});
}

/** Whether any log's intervals contradict its times. */
export const intervalsContradict = ({ records }: MatchInput): boolean => wrongLogs(records).length > 0;

/** Every explanation of the same logs asks for them. */
const wrongBy = new WeakMap<Records, WrongIntervals[]>();

/** The wrong intervals of each combine that has some. */
const wrongLogs = (records: Records): WrongIntervals[] =>
	remembered(wrongBy, records, () =>
		records.combines.flatMap((_, c) => wrongIntervals(records, inTimeOrder(records, c)) ?? []),
	);
