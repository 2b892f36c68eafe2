import { type CartStep, stepsByCart } from '../../model/index.ts';
import { quantileOf } from '../../stats/index.ts';
import type { Explained } from '../explained.ts';
import { weightColumn } from '../problem/prepare.ts';
import { ratio, type Unit, weightUnits } from './other-units.ts';
import { type Supposition, useWeights } from './supposition.ts';
import { inUnit, withRows } from './weighed-rows.ts';

/** Prior cost of another unit from some dump on, or up to one, nats. */
const PART = 7.5;
/** Fewest dumps on either side, and how near the dumps' usual sizes must be to the ratio of two units, natural logarithm. */
const SIDE = 2;
const NEAR = 0.35;

/** The field with the cart's weights in another unit from some dump on, or up to one: where the dumps' usual weight changes like a unit. */
export function unitOfPart({ input }: Explained): Supposition[] {
	const { book, plan } = input;
	const [steps = [], ...more] = stepsByCart(book);
	const dumps = steps.map((s) => s.dump).filter((d) => d >= 0);
	if (more.length > 0 || dumps.length < 2 * SIDE) return [];
	const log = dumps.map((d) => Math.log(Math.max(1, book.dumps[d]!.weight_kg)));
	const at = changeOf(log);
	const change = quantileOf(log.slice(at), 0.5) - quantileOf(log.slice(0, at), 0.5);
	const first = steps.findIndex((s) => s.dump === dumps[at]);
	const id = book.dumps[dumps[at]!]!.id;
	return weightUnits(plan.crop.bushel_kg).flatMap((unit) =>
		([true, false] as const)
			.filter((later) => Math.abs((later ? -change : change) - Math.log(unit.size)) < NEAR)
			.map((later) =>
				partIn(
					input,
					unit,
					later ? steps.slice(first) : steps.slice(0, first),
					later ? `from ${id} on` : `before ${id}`,
				),
			),
	);
}

/** Where values change most, by their ranks, since a tank is at times all but empty (Pettitt, 1979). */
function changeOf(values: readonly number[]): number {
	const n = values.length;
	const sorted = [...values.keys()].sort((a, b) => values[a]! - values[b]!);
	const rank = new Float64Array(n);
	sorted.forEach((i, r) => {
		rank[i] = r - (n - 1) / 2;
	});
	let sum = 0;
	let best = { at: SIDE, size: -1 };
	for (let k = 1; k <= n - SIDE; k++) {
		sum += rank[k - 1]!;
		if (k >= SIDE && Math.abs(sum) > best.size) best = { at: k, size: Math.abs(sum) };
	}
	return best.at;
}

function partIn(
	input: Explained['input'],
	{ size, name }: Unit,
	part: readonly CartStep[],
	where: string,
): Supposition {
	const { book, plan } = input;
	const supposed = { ...input, book: withRows(book, part, inUnit(size)) };
	return {
		input: supposed,
		price: PART - part.filter((s) => s.dump >= 0).length * Math.log(size),
		caution: `The weights ${where} fit the logs and the neighboring weights only when multiplied by ${ratio(size)}. Possible cause: they are in ${name} in column ${weightColumn(plan)}. The factors use them multiplied by it. Check their unit.`,
		undo: useWeights(supposed),
	};
}
