import type { Match } from '../../model/index.ts';
import type { Offset } from '../clock/offset.ts';
import type { MatchInput } from '../problem/input.ts';

/** A possible error that affects all weights, all names or a whole log. */
export interface Supposition {
	/** The field as it would be without the error. */
	input: MatchInput;
	/** Prior cost, nats. */
	price: number;
	/** No explanation under it costs less than this, nats; absent where it fits nothing to the weights. */
	least?: number;
	/** Caution where it is the best explanation; null = the factors have one where it matters. */
	caution: string | null;
	/** Weights or flows are in another unit, so that factors for the files as given are far from 1. */
	unit?: true;
	/** What is not ruled out where it is another than the best, if the caution does not say it. */
	open?: string;
	/** Clock offsets to try, seconds, beside the plain ones. */
	offsets?: number[];
	/** The clock's offset, where the supposed error has nothing to do with it. */
	clock?: Offset;
	/** Restates a match under the supposition in the terms of the files as given. */
	undo(match: Match, given: MatchInput): void;
}

/** Where the factors use the weights as supposed. */
export function useWeights({ book }: MatchInput): Supposition['undo'] {
	return (match) => {
		match.supposed_kg = book.dumps.map((d) => d.weight_kg);
	};
}

/** Two errors in one field: the second was supposed on top of the first. */
export function both(first: Supposition, second: Supposition): Supposition {
	return {
		...second,
		price: first.price + second.price,
		...((first.unit || second.unit) && { unit: true }),
		caution: [first.caution, second.caution].filter((c) => c !== null).join(' '),
		undo(match, given) {
			second.undo(match, first.input);
			const { under, supposed_kg } = match;
			first.undo(match, given);
			if (supposed_kg) match.supposed_kg = supposed_kg;
			const before = match.under;
			// The first may leave the unit as it is.
			if (!under || !before || before === under) return;
			const [a, b] = [before.scale, under.scale];
			match.under = {
				...under,
				weight_kg: under.weight_kg * before.weight_kg,
				scale: a && b ? a.map((x, i) => x * b[i]!) : (a ?? b),
			};
		},
	};
}
