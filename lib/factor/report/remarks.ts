import type { Factor } from '../../model/index.ts';
import { tQuantile } from '../../stats/index.ts';
import type { Scatter } from '../../tank/index.ts';
import { ownWeights } from '../chain/chain.ts';
import type { FactorInput } from '../input.ts';
import { meanBasis } from '../seamrelations.ts';
import type { Solved } from '../solve-weights.ts';
import { clockOf } from './advice.ts';
import { unitCautions } from './unit-cautions.ts';

/** Notes and cautions on how the factors came about. */
export function remarks(
	input: FactorInput,
	solved: Solved,
	factors: readonly Factor[],
	covariance: Float64Array,
): { notes: string[]; cautions: string[] } {
	const notes: string[] = [];
	const cautions: string[] = [];
	const known = factors.filter((f) => f.source !== null);
	if (known.length === 0) {
		cautions.push('Weigh a few dumps, or get tickets for a few truckloads, to find how far the monitors are off.');
	}
	for (const f of factors) {
		const name = input.records.combines[f.combine]!;
		if (f.source === 'seams') {
			cautions.push(
				`Combine ${name} has no usable weight. Its factor comes from the seams with its neighbors, as if all left equally little grain on the ground.`,
			);
		}
		if (f.source === null && known.length > 0) {
			cautions.push(`Combine ${name} has no weights and no seam with a weighed combine. Its yields are as recorded.`);
		}
		const pin = input.plan.pins.factors?.[name];
		if (f.source === 'pinned') cautions.push(pinnedCaution(name, f, pin?.value ?? f.value));
		else if (pin?.form !== undefined) notes.push(`The pattern of combine ${name}’s factor was set by hand.`);
		const step = solved.interpretation.choices[f.combine];
		if (f.form === 'step' && step && step.noted) {
			notes.push(`The factor of combine ${name} changes at the event that was entered.`);
		}
	}
	cautions.push(...farFromWeights(input, solved), ...wideScatter(factors, solved.scatter));
	// Where the match assumes another unit it has its own caution, and the factors are restated for the files as given.
	if (!input.match.under) cautions.push(...unitCautions(input, factors));
	for (const { apart, text } of againstSeams(input, solved, covariance, factors))
		(Math.abs(apart) > NO_LOSS ? cautions : notes).push(text);
	return { notes, cautions };
}

/** More scatter of tank loads than of one cart's (0.5 to 0.9 % over 8 simulated kinds, 1.1 to 2.8 % with two 4 % apart), relative, and fewest that show it. */
const WIDE_REL = 0.0105;
/** More scatter of what stays in emptied tanks than is usual, as a factor on its variance: 2 to 4 where carts 4 % apart take turns. */
const WIDE_RESTS = 2;
const ENOUGH = 8;

/** Caution on weights that scatter more than monitors do: they may then share an error that no interval has. */
function wideScatter(factors: readonly Factor[], { rests }: Scatter): string[] {
	const most = Math.max(...factors.map((f) => (f.n >= ENOUGH ? f.scatter_rel : 0)));
	if (!(most > WIDE_REL || (most > 0 && rests >= WIDE_RESTS))) return [];
	const by = most > WIDE_REL ? ` by ${(100 * most).toFixed(1)}%` : '';
	return [
		`The weights scatter${by} about the monitors, more than tank loads usually do. Possible causes: two carts whose scales differ, weights taken while the cart moved or before the auger stopped, or dumps matched with the wrong grain. An error that many weights share is not in the intervals. Note the cart with each weight, and weigh with the cart stopped and level.`,
	];
}

/** Least share of a combine's grain before its first weight or after its last that gives a caution. */
const FAR_SHARE = 0.2;

/** Cautions on grain that came in before a combine's first own weight or after its last, where no weight would show a change. */
function farFromWeights({ records, match, plan }: FactorInput, { chain, time }: Solved): string[] {
	return records.combines.flatMap((name, c) => {
		const ends = ownWeights(chain, c).flatMap((w) =>
			chain.match.weighings[w]!.unloadings.map((u) => match.unloadings[u]!.end_s),
		);
		if (ends.length === 0) return [];
		const [first, last] = [Math.min(...ends), Math.max(...ends)];
		const fill = match.unloadings.find((u) => u.combine === c && u.end_s === first)!;
		const began = time.segments[time.ofUnloading[match.unloadings.indexOf(fill)]!]?.pieces[0]?.start_s ?? first;
		let before = 0;
		let after = 0;
		for (const s of time.segments)
			for (const p of s.combine === c ? s.pieces : []) {
				if (p.time_s < began) before += p.kg;
				if (p.time_s > last) after += p.kg;
			}
		const share = (kg: number) => `${((100 * kg) / time.account_kg[c]!).toFixed(0)}% of its grain`;
		const said = (
			[
				[before, `before ${clockOf(plan, began)} (${share(before)})`],
				[after, `after ${clockOf(plan, last)} (${share(after)})`],
			] as const
		).flatMap(([kg, when]) => (kg > FAR_SHARE * time.account_kg[c]! ? [when] : []));
		if (said.length === 0) return [];
		return [
			`No dump of combine ${name} was weighed ${said.join(' or ')}. Had the monitor been recalibrated then, no weight would ` +
				'show it. Weigh dumps through the whole day.',
		];
	});
}

/** @param value - as it was set, for the files as given */
function pinnedCaution(name: string, f: Factor, value: number): string {
	const evidence = f.weighed;
	if (!evidence)
		return `The factor of combine ${name}, ${value}, was set by hand. Nothing that was weighed supports or contradicts it.`;
	const inside = evidence.interval[0] <= f.value && f.value <= evidence.interval[1];
	const given = (v: number) => (v * (value / f.value)).toFixed(3);
	const [low, high] = evidence.interval.map(given);
	return (
		`The factor of combine ${name}, ${value}, was set by hand. The weights give ${given(evidence.value)} ` +
		`(95% interval ${low} to ${high}); ${inside ? 'no difference shown' : 'difference shown: check the entry'}.`
	);
}

/** Least difference between weights and seams that gives a note, relative. */
const NOTABLE = 0.01;
/** More than any header leaves on the ground beyond another's, relative: something given is wrong (common practice). */
const NO_LOSS = 0.08;

/** Where the ratio of two factors, both from own weights, differs from the one at their seams, and by how much. */
function againstSeams(
	input: FactorInput,
	solved: Solved,
	covariance: Float64Array,
	factors: readonly Factor[],
): { apart: number; text: string }[] {
	const C = factors.length;
	const out: { apart: number; text: string }[] = [];
	for (const j of input.jumps) {
		const { combineA: a, combineB: b } = j;
		if (a === b || !Number.isFinite(j.log_jump) || solved.coverage.own[a] === 0 || solved.coverage.own[b] === 0)
			continue;
		// The factor averaged over the passes at the seams.
		const at = (c: number) =>
			meanBasis(input, {
				time_s: input.records.time_s,
				flow: solved.flows.flow,
				shape: solved.shapes[c]!,
				combine: c,
				jump: j,
			}).reduce((sum, v, k) => sum + v * solved.tape.x[solved.at.factor[c]! + k]!, 0);
		const apart = j.log_jump - Math.log(at(b) / at(a));
		const u = Math.hypot(
			j.u_log,
			Math.sqrt(Math.max(0, covariance[a * C + a]! + covariance[b * C + b]! - 2 * covariance[a * C + b]!)),
		);
		const names = `combines ${input.records.combines[a]} and ${input.records.combines[b]}`;
		if (!(Math.abs(apart) > Math.max(NOTABLE, tQuantile(0.9975, j.df) * u))) continue;
		const less = input.records.combines[apart > 0 ? b : a];
		const byTickets = [a, b].some((c) => factors[c]!.source === 'tickets');
		const scales = byTickets ? 'a ticket that is missing, wrong or of another field' : 'two carts whose scales differ';
		const text =
			`The weights and the seams of ${names} differ by ${(100 * Math.abs(apart)).toFixed(1)}%: by the weights, ${less} brought ` +
			'in less from the same ground. Possible causes: grain left on the ground behind it, a header narrower than set, ' +
			`${scales}, a monitor that changed within the field, or a crop that differed from pass to pass. The difference is shown, not removed.`;
		out.push({ apart, text });
	}
	return out;
}
