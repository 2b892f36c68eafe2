import type { Account, SeamJump } from '../../model/index.ts';
import type { MatchInput } from '../problem/input.ts';
import type { Supposition } from './supposition.ts';

/** One combine's log, or the part of it between two times, with a flow this many times as large. */
export interface Part {
	combine: number;
	from_s: number;
	to_s: number;
	size: number;
}

export const wholeLog = (combine: number, size: number): Part => ({ combine, from_s: -Infinity, to_s: Infinity, size });

export const isWhole = ({ from_s, to_s }: Part): boolean => !Number.isFinite(from_s) && !Number.isFinite(to_s);

/** The field with the flow of these parts scaled; either all of them are whole logs or none is. */
export function scaledFlow(
	input: MatchInput,
	parts: readonly [Part, ...Part[]],
): Pick<Supposition, 'input' | 'unit' | 'undo'> {
	const { records, account, book } = input;
	const scale = new Float64Array(records.n).fill(1);
	const account_kg = account.account_kg.slice();
	const of = records.combines.map((_, c) => parts.find((p) => p.combine === c));
	for (let i = 0; i < records.n; i++) {
		const part = of[records.combine[i]!];
		if (!part || !(records.time_s[i]! > part.from_s && records.time_s[i]! <= part.to_s)) continue;
		scale[i] = part.size;
		account_kg[i]! *= part.size;
	}
	const log_size = (c: number) => Math.log(of[c]?.size ?? 1);
	const seams: SeamJump[] = isWhole(parts[0])
		? input.seams.map((s) => ({ ...s, log_jump: s.log_jump + log_size(s.combineA) - log_size(s.combineB) }))
		: input.seams.filter((s) => !of[s.combineA] && !of[s.combineB]);
	const scaled: Account = { ...account, account_kg };
	return {
		input: { ...input, account: scaled, seams },
		unit: true,
		undo(match): void {
			match.under = { weight_kg: 1, account: scaled, scale, seams, book };
		},
	};
}
