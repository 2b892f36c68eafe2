/** True where an element is highlighted when something is pointed at: a dump, its fill and its ground belong together. */
import type { Scene } from '../../../lib/model/index.ts';
import type { Lit } from '../../state/field.ts';

export function shines(element: Lit, pointed: Lit | null, s: Scene): boolean {
	if (!pointed) return false;
	if (element.kind === 'dump' && pointed.kind === 'dump') return element.id === pointed.id;
	const a = fillsOf(element, s);
	const b = fillsOf(pointed, s);
	if (a && b) return a.some((f) => b.includes(f));
	if (element.kind === 'combine') {
		if (pointed.kind === 'combine') return element.combine === pointed.combine;
		if (pointed.kind === 'record') return s.combine[pointed.record] === element.combine;
		if (pointed.kind === 'fill' || pointed.kind === 'dump')
			return pointed.fills.some((f) => combineOf(f, s) === element.combine);
	}
	if (pointed.kind === 'combine' && a) return a.some((f) => combineOf(f, s) === pointed.combine);
	if (element.kind === 'seam' && pointed.kind === 'seam') return element.seam === pointed.seam;
	const p = pairOf(element, s);
	const q = pairOf(pointed, s);
	return !!p && !!q && p[0] === q[0] && p[1] === q[1];
}

function fillsOf(l: Lit, s: Scene): string[] | null {
	if (l.kind === 'fill' || l.kind === 'dump') return l.fills;
	if (l.kind !== 'record') return null;
	const name = s.facts.fills[s.fill[l.record] ?? -1];
	return name === undefined ? null : [name];
}

/** The combine of a fill: the one with the longest name that the fill's name starts with. */
export function combineOf(fill: string, s: Scene): number {
	let best = -1;
	s.facts.combines.forEach((name, c) => {
		if (fill.startsWith(name) && (best < 0 || name.length > s.facts.combines[best]!.length)) best = c;
	});
	return best;
}

function pairOf(l: Lit, s: Scene): [number, number] | null {
	if (l.kind === 'pair') return [Math.min(l.a, l.b), Math.max(l.a, l.b)];
	if (l.kind !== 'seam') return null;
	const seam = s.facts.seams[l.seam];
	return seam ? [Math.min(seam.combineA, seam.combineB), Math.max(seam.combineA, seam.combineB)] : null;
}
