import type { Account } from '../../model/index.ts';
import type { MatchInput } from '../problem/input.ts';
import type { Supposition } from './supposition.ts';

/** The field with the flow of each record so many times as large. */
export function scaledFlow(input: MatchInput, scale: Float64Array): Pick<Supposition, 'input' | 'unit' | 'undo'> {
	const { records, account, book } = input;
	const scaled: Account = { ...account, account_kg: account.account_kg.map((kg, i) => kg * scale[i]!) };
	// One size for all of a combine's records, or NaN: then its seams tell nothing of its factor.
	const sizes = records.combines.map(() => 0);
	for (let i = 0; i < records.n; i++) {
		const c = records.combine[i]!;
		if (sizes[c] === 0) sizes[c] = scale[i]!;
		else if (sizes[c] !== scale[i]) sizes[c] = Number.NaN;
	}
	const seams = input.seams
		.map((s) => ({ ...s, log_jump: s.log_jump + Math.log(sizes[s.combineA]!) - Math.log(sizes[s.combineB]!) }))
		.filter((s) => Number.isFinite(s.log_jump));
	return {
		input: { ...input, account: scaled, seams },
		unit: true,
		undo(match): void {
			match.under = { weight_kg: 1, account: scaled, scale, seams, book };
		},
	};
}
