import type { TicketSlip } from '../../stats/index.ts';
import { type BookChain, ownFrom } from './chain.ts';
import type { Explanation } from './explanations.ts';
import { massOf } from './running-factor.ts';
import { slipSlot } from './slip.ts';
import type { SolvedBook } from './solve-book.ts';

/** A cause common to many weights that the answer allows for. The screens put it into words. */
export type Caution =
	/** From this dump on the monitor reads by so much more. */
	| { kind: 'monitor'; combine: string; dump: string; more_pct: number }
	/** From this dump on, or by and by, the cart's scale reads by so much more. */
	| { kind: 'cart' | 'drift'; cart: string; dump: string; more_pct: number; checked: boolean }
	/** Some of a cart's loads, this dump's among them, weigh so much more, as if by another cart's scale. */
	| { kind: 'two'; cart: string; dump: string; more_pct: number; checked: boolean }
	/** From this dump on the names of these combines are exchanged. */
	| { kind: 'names'; combines: [string, string]; dump: string }
	/** Heavy dumps follow light ones, as where tanks are left with grain, or weights are taken in haste. */
	| { kind: 'rests' | 'hasty' }
	/** Dumps into the empty cart weigh so much more than others. */
	| { kind: 'zero'; cart: string; more_kg: number }
	/** The tickets come to so much more than the cart's weights: they may be of dry grain, or wrong alike. */
	| { kind: 'dry'; cart: string; off_pct: number; drying_pct: number }
	| { kind: 'tickets'; cart: string; off_pct: number }
	/** One of these weights is wrong, or a monitor reading beside it. */
	| { kind: 'either'; combine: string; dumps: string[] };

type Either = Extract<Caution, { kind: 'either' }>;

/** What is said of the explanations beside the plain one; each cause once, as its likeliest explanation has it. */
export function cautionsOf(chain: BookChain, explanations: readonly Explanation[]): Caution[] {
	const out = explanations.map(({ solved }) => cautionOf(chain, solved)).filter((c) => c !== null);
	const cause = (c: Caution) => `${c.kind} ${'combine' in c ? c.combine : ''} ${'cart' in c ? c.cart : ''}`;
	const causes = [...new Map(out.toReversed().map((c) => [cause(c), c])).values()];
	// A few dumps to check say more than that the weights scatter.
	const either = eitherOf(chain, explanations).filter((e) => e.dumps.length <= FEW_TO_CHECK);
	return [...causes.filter((c) => either.length === 0 || (c.kind !== 'rests' && c.kind !== 'hasty')), ...either];
}

/** Nobody checks more dumps than this to find the wrong one. */
const FEW_TO_CHECK = 4;

function cautionOf(chain: BookChain, { slip, tape, at }: SolvedBook): Caution | null {
	if (slip.kind === 'none') return null;
	const dump = (time_s: number, of: (l: BookChain['loads'][number]) => boolean) =>
		chain.loads.find((l) => l.weighs && of(l) && l.fill.time_s >= time_s)!.fill.dumps[0]!;
	if (slip.kind === 'monitor') {
		const { combine: c } = slip;
		const from = chain.loads.findIndex((l) => l.fill.time_s >= slip.at_s);
		const after = tape.x[at.factor[c]!]!;
		const before_kg = massOf(chain, c, ownFrom(chain), from);
		// On a field before this one: its factor is not this one's.
		if (before_kg === 0) return null;
		const before = (tape.x[at.brought[c]!]! - after * massOf(chain, c, from)) / before_kg;
		const of = (l: BookChain['loads'][number]) => l.inflows.some((i) => i.combine === c);
		return {
			kind: 'monitor',
			combine: chain.combines[c]!,
			dump: dump(slip.at_s, of),
			more_pct: 100 * (before / after - 1),
		};
	}
	if (slip.kind === 'names') {
		const [a, b] = slip.combines.map((c) => chain.combines[c]!).sort();
		return { kind: 'names', combines: [a!, b!], dump: dump(slip.at_s, () => true) };
	}
	if (slip.kind === 'rests') return { kind: 'rests' };
	if (slip.kind === 'hasty') return { kind: 'hasty' };
	const { id, checks } = chain.carts[slip.cart]!;
	const size = tape.x[slipSlot(at)]!;
	if (slip.kind === 'zero') return { kind: 'zero', cart: id, more_kg: size };
	// A relative error of the scale is reference mass short of grain.
	const more_pct = 100 * (slip.right === 'first' ? -size : size);
	const since_s =
		slip.kind === 'step' ? slip.at_s : slip.kind === 'drift' ? slip.from_s : slip.since_s[slip.second.indexOf(true)]!;
	return {
		kind: slip.kind === 'step' ? 'cart' : slip.kind,
		cart: id,
		dump: dump(since_s, (l) => l.cart === slip.cart),
		more_pct,
		checked: checks.length > 0,
	};
}

/** Combines of which one weight is wrong, with the weights that may be it. */
function eitherOf(chain: BookChain, explanations: readonly Explanation[]): Either[] {
	return chain.combines.flatMap((combine, c): Either[] => {
		const may = new Set(explanations.flatMap(({ solved }) => [...solved.wrong]));
		const always = (i: number) => explanations.every(({ solved }) => solved.wrong.has(i));
		const dumps = [...may]
			.filter((i) => i >= ownFrom(chain) && !always(i) && chain.loads[i]!.inflows.some((x) => x.combine === c))
			.sort((a, b) => a - b)
			.flatMap((i) => chain.loads[i]!.fill.dumps);
		return dumps.length > 0 ? [{ kind: 'either', combine, dumps }] : [];
	});
}

/** A cart whose tickets may be wrong. */
export interface TicketSlips {
	cart: string;
	/** The tickets against the cart's weights. */
	off_pct: number;
	/** The likelier way in which they may be wrong. */
	likeliest: { kind: TicketSlip['kind']; by: number };
	instead: Explanation[];
}

/** What is said of tickets that may be wrong. */
export function ticketCautions(slips: readonly TicketSlips[]): Caution[] {
	return slips.map(({ cart, off_pct, likeliest: { kind, by } }) =>
		kind === 'dry' ? { kind, cart, off_pct, drying_pct: 100 * by } : { kind: 'tickets', cart, off_pct },
	);
}
