import type { BudgetLine, MoistureOffset, Reference } from '../../model/index.ts';
import { referenceParts, type Shares } from './interval.ts';

/** Lines of a factor's uncertainty budget, each with its share of the whole variance, largest first. */
export function budgetOf(
	shares: Shares,
	value: number,
	reference: Reference,
	moisture: MoistureOffset | null,
	moisture_pct: number,
): BudgetLine[] {
	const ref = referenceParts(reference);
	const cart = shares.cart / value;
	const limits = ref.half / Math.sqrt(3);
	// The uncertainty of the certified scale has a line of its own where the reference gives it.
	const certified = reference.source === 'tickets' ? Math.min(ref.u, reference.u_certified_rel ?? 0) : 0;
	const of = (variance: number) => Math.sqrt(Math.max(0, variance)) / value;
	const lines: [name: string, u: number, advice: string][] = [
		['certified scale', cart * certified, 'part of every ticket; a second certified scale would be needed to check it'],
		[
			'cart scale against tickets',
			cart * Math.sqrt(Math.max(0, ref.u ** 2 - certified ** 2)),
			'get tickets for more truckloads; three to five are common practice',
		],
		['cart scale, assumed limit', cart * limits, 'more dumps do not reduce it; get tickets for truckloads'],
		['cart scale, unchecked or changed', of(shares.scale), 'get tickets for truckloads of each cart, through the day'],
		['readings of the cart scale', of(shares.readings), 'weigh with the cart stopped and level, and weigh more dumps'],
		[
			'grain left in the tank, and timing',
			of(shares.rests),
			'empty the tank fully at the first and the last weighed dump',
		],
		['share not weighed', of(shares.slow), 'weigh every dump, or at least some in every part of the day'],
		['grain not recorded', of(shares.unrecorded), 'record with the header up too, where the monitor can'],
		['seams', of(shares.seam), 'weigh dumps of this combine too, or cut more passes next to one that is weighed'],
		['pattern of the factor', of(shares.curve), 'weigh loads at low and at high flow'],
	];
	if (moisture !== null && Number.isFinite(moisture.u_pct)) {
		lines.push(['moisture (dry yield only)', moisture.u_pct / (100 - moisture_pct), 'more ticket moistures reduce it']);
	}
	const total = lines.reduce((sum, [, u]) => sum + u ** 2, 0);
	return lines
		.filter(([, u]) => u > 0)
		.map(([name, u_rel, advice]) => ({ name, u_rel, share: u_rel ** 2 / total, advice }))
		.sort((a, b) => b.share - a.share);
}
