/** Records to highlight for what is pointed at. */
import type { Scene } from '../../../lib/model/index.ts';
import type { Lit } from '../../state/field.ts';

/** One byte per record, 1 = highlighted; null where no ground belongs to it. */
export function litMask(s: Scene, lit: Lit | null): Uint8Array | null {
	if (!lit || lit.kind === 'record' || lit.kind === 'seam' || lit.kind === 'pair') return null;
	const mask = new Uint8Array(s.n);
	if (lit.kind === 'combine') {
		for (let i = 0; i < s.n; i++) if (s.combine[i] === lit.combine) mask[i] = 1;
		return mask;
	}
	const ids = new Set(lit.fills.map((name) => s.facts.fills.indexOf(name)).filter((i) => i >= 0));
	if (ids.size === 0) return null;
	for (let i = 0; i < s.n; i++) if (ids.has(s.fill[i]!)) mask[i] = 1;
	return mask;
}
