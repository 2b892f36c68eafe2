import { someOf } from '../../units/index.ts';
import { cartPlaces } from '../chain/cart-form.ts';
import { changes } from '../hypotheses.ts';
import type { FactorInput } from '../input.ts';
import type { Solved } from '../solve-weights.ts';
import { clockOf } from './advice.ts';

/** Cautions on hypotheses that are not ruled out: an error of the cart's scale, another form of a factor, an unchecked scale. */
export function alternativeCautions(input: FactorInput, hypotheses: readonly Solved[]): string[] {
	const out: string[] = [];
	const best = hypotheses[0]!;
	const slips = hypotheses.filter((w) => w.cart.kind === 'step' || w.cart.kind === 'drift');
	if (slips.length > 0) {
		const odds = slips.reduce((sum, w) => sum + w.weight, 0);
		const of = input.records.combines.filter((_, c) => best.coverage.own[c]! > 0);
		const who = of.length > 1 ? `combines ${of.join(' and ')}` : `combine ${of[0]}`;
		const checked = best.chain.scales.loads.some((l) => l.used);
		const sides = checked
			? 'Truckloads show by how much it was off.'
			: 'No truckload shows when it was right, so the factors allow for either. Get tickets for truckloads through the day.';
		const [likely] = slips;
		const look = 'Check the load cells and the zero of the cart scale.';
		if (odds > 0.5) {
			const others = hypotheses.some((w) => w.cart.kind === 'none')
				? hypotheses.some((w) => w.cart.kind === 'none' && w.shapes.some(changes))
					? ' Not ruled out: the monitors changed instead. The factors allow for both.'
					: ' Not ruled out: nothing changed. The factors allow for both.'
				: '';
			out.push(`The weights of ${who} changed together ${said(input, likely!, of.length)}. ${sides}${others} ${look}`);
		} else {
			out.push(
				`Not ruled out: the weights of ${who} changed together ${said(input, likely!, of.length)}. The factors allow for ` +
					`both. ${checked ? 'Tickets through the day would decide.' : sides} ${look}`,
			);
		}
	}
	const withoutSlip = hypotheses.filter((w) => w.cart.kind === 'none');
	// A step that the weights show as well has been found by them.
	const bySeams = hypotheses.flatMap(({ bySeams: s, interpretation }) =>
		s && interpretation.choices[s.combine]?.shape !== s.shape
			? `combine ${input.records.combines[s.combine]} from ${clockOf(input.plan, s.shape.changes_s[0]!)} (by ${(100 * Math.expm1(-s.log)).toFixed(1)}%)`
			: [],
	);
	if (bySeams.length > 0) {
		out.push(
			`The seams changed within the field: possibly a recalibration of ${[...new Set(bySeams)].join(', or of ')}. The factors ` +
				'allow for it. Weigh dumps through the whole day.',
		);
	}
	input.records.combines.forEach((name, c) => {
		const changed = withoutSlip.find((w) => changes(w.shapes[c]!));
		if (!changed || withoutSlip.every((w) => changes(w.shapes[c]!))) return;
		const [time_s] = changed.shapes[c]!.changes_s;
		const how =
			time_s === undefined ? 'a factor that drifted' : `a factor that changed at ${clockOf(input.plan, time_s)}`;
		out.push(
			`The weights of combine ${name} fit ${how} and one that stayed the same, with grain left in the tank, nearly as well. ` +
				'The factor allows for both. More dumps would decide.',
		);
	});
	out.push(...byTurns(input, best));
	best.chain.scales.others.forEach(({ name, u }, i) => {
		if (name === null || best.chain.scales.loads.some((l) => l.used && l.shares[i + 1]! > 0)) return;
		const of = new Set<string>();
		best.chain.order.forEach((w) => {
			if (best.chain.scales.of[w] !== i + 1) return;
			for (const at of input.match.weighings[w]!.unloadings)
				of.add(input.records.combines[input.match.unloadings[at]!.combine]!);
		});
		if (of.size === 0) return;
		out.push(
			`No ticket checks scale ${name}, which weighed dumps of ${[...of].join(' and ')}: it is assumed good to ±` +
				`${(100 * u * Math.sqrt(3)).toFixed(0)}%. Get tickets for truckloads of this cart too.`,
		);
	});
	return out;
}

/** The error of the cart's scale in words, after "the weights changed together". */
function said(input: FactorInput, hypothesis: Solved, combines: number): string {
	const { cart, tape, at, chain } = hypothesis;
	const monitors = combines > 1 ? 'the monitors' : 'the monitor';
	const { slip } = cartPlaces(at, chain.scales);
	if (cart.kind === 'drift') {
		// The coefficient is reference over cart weight, so its sign is opposite to the scale's error.
		const percent = (-100 * tape.x[slip]!).toFixed(1);
		return `by ${percent}% over the field: the cart's scale drifted, not ${monitors}`;
	}
	const step = chain.steps[cart.at];
	const when = step && (step.do === 'weigh' || step.do === 'check') ? clockOf(input.plan, step.time_s) : 'some time';
	return `at ${when}: the cart's scale changed, not ${monitors}`;
}

/** Caution on weights that are of two scales, though no row says so. */
function byTurns({ match, book }: FactorInput, { chain, tape, at, cart }: Solved): string[] {
	if (cart.kind !== 'two') return [];
	const { main, others } = cartPlaces(at, chain.scales);
	const apart = tape.x[others[0]!]! - tape.x[main]!;
	const dumps = chain.order.filter((w) => chain.scales.of[w] === 1).flatMap((w) => match.weighings[w]!.dumps);
	const ids = dumps.flatMap((d) => book.dumps[d]?.id ?? []);
	const sides = chain.scales.loads.some((l) => l.used)
		? 'Truckloads show by how much each is off.'
		: 'No truckload shows which is right, so the factors allow for either. Get tickets for truckloads of both.';
	return [
		`Dumps ${someOf(ids)} weigh ${(100 * Math.abs(apart)).toFixed(1)}% ${apart > 0 ? 'more' : 'less'} than the others, of whichever combine, as if two carts had taken turns. ${sides} Note the cart with each weight.`,
	];
}
