import type { Clock, Match } from '../../model/index.ts';
import { durationText } from '../../units/index.ts';
import type { Explained } from '../explained.ts';

/** Explanations with less than this share of the best one's likelihood are dropped. */
export const LEAST = 0.03;
/** Most explanations kept beside the main one. */
export const MOST = 4;

/**
 * The explanations that remain, with their probabilities, the main one first: the best, but one without another unit where such
 * a one remains. Factors under two units are too far apart for a mean, so the value is one that a monitor may have, and the
 * interval covers the others. Equal ones are kept once.
 *
 * @param all - cheapest first
 */
export function remaining(all: readonly Explained[]): { explained: Explained; weight: number }[] {
	const likelihood = (e: Explained) => Math.exp(all[0]!.cost - e.cost);
	const likely = all.filter((e) => likelihood(e) > LEAST);
	const kept = [likely.find((e) => !e.supposed?.unit) ?? all[0]!];
	for (const e of likely) if (kept.length <= MOST && !kept.some((o) => same(o, e))) kept.push(e);
	const sum = kept.reduce((total, e) => total + likelihood(e), 0);
	return kept.map((explained) => ({ explained, weight: likelihood(explained) / sum }));
}

/** Whether two explanations assign the same parts of the logs to the same weights, so that their factors are equal. */
function same(a: Explained, b: Explained): boolean {
	if (a.supposed !== b.supposed && (a.supposed?.caution || b.supposed?.caution)) return false;
	const key = (e: Explained): string =>
		e.solved.list
			.filter((x) => x.assignment)
			.map(
				(x) =>
					`${x.assignment!.observation}:${x.combine}:${Math.round(x.mass_kg / 200)}:${Math.round(x.account_kg / 200)}:${x.rests}`,
			)
			.join();
	return key(a) === key(b);
}

/** The best explanation's clock offset with the uncertainty of the mixture. */
export function clockOver(clock: Clock, others: readonly { weight: number; match: Match }[]): Clock {
	if (clock.source !== 'estimated') return clock;
	let own = 1;
	let square = 0;
	for (const { weight, match } of others) {
		own -= weight;
		square += weight * (match.clock.u_s ** 2 + (match.clock.offset_s - clock.offset_s) ** 2);
	}
	return { ...clock, u_s: Math.sqrt(own * clock.u_s ** 2 + square) };
}

/** Offsets within this are reported as one, seconds. */
const SAME_S = 120;

/**
 * Cautions on the explanations that remain.
 *
 * @param others - each with its probability and what it is in words
 */
export function openCautions(
	best: Explained,
	others: readonly { explained: Explained; weight: number; way: string }[],
): string[] {
	const offsets: number[] = [];
	for (const e of [best, ...others.map((o) => o.explained)]) {
		if (offsets.every((o) => Math.abs(o - e.offset.at_s) > SAME_S)) offsets.push(e.offset.at_s);
	}
	const list: string[] = [];
	if (offsets.length > 1) {
		const said = offsets.map((o) =>
			Math.abs(o) < SAME_S ? 'about right' : `${durationText(o)} ${o > 0 ? 'slow' : 'fast'}`,
		);
		list.push(
			`The weights fit the logs nearly as well with other cart clock offsets: the clock may be ${said.join(', or ')}. The factors allow for each. More weights, or the clock's offset set by hand, would decide.`,
		);
	}
	for (const caution of new Set(others.map(({ explained: { supposed } }) => supposed?.caution ?? supposed?.open))) {
		if (caution && caution !== best.supposed?.caution) list.push(`Not ruled out: ${caution}`);
	}
	// Others under the same supposition differ by how much it takes away: the caution on it says so.
	const ways = others.filter(({ explained }) => !explained.supposed?.caution);
	if (list.length === 0 && ways.length > 0) {
		const said = [...ways]
			.sort((a, b) => b.weight - a.weight)
			.map(({ weight, way }) => `${way} (probability ${Math.round(100 * weight)}%)`);
		list.push(
			`The weights fit the logs in more than one way. Also possible: ${said.join('. Or: ')}. The factors ` +
				'allow for each. More weights, or notes of the combine and of tanks not emptied, would decide.',
		);
	}
	return list;
}
