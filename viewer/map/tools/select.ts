/** Selections of records: by a range of values, a box, a combine, a fill, a flag. */
import type { Scene } from '../../../lib/model/index.ts';
import { scene, selection } from '../../state/field.ts';
import { strings } from '../../strings/index.ts';
import { before, layer, values } from '../state.ts';

function choose(label: string, holds: (i: number, s: Scene) => boolean): void {
	const s = scene.value;
	if (!s) return;
	const mask = new Uint8Array(s.n);
	let any = false;
	for (let i = 0; i < s.n; i++) {
		if (holds(i, s)) {
			mask[i] = 1;
			any = true;
		}
	}
	selection.value = any ? { label, mask } : null;
}

/** Records whose value of the current layer lies in the range (library's own units). */
export function chooseRange(from: number, to: number): void {
	const v = values.value;
	if (!v || layer.value.ground === 'grid') return;
	const column = before.value && v.before ? v.before : v.after;
	choose(strings.map.selectedRange, (i) => column[i]! >= from && column[i]! <= to);
}

export function chooseRecords(label: string, records: number[]): void {
	const set = new Set(records);
	choose(label, (i) => set.has(i));
}

export const chooseCombine = (combine: number, label: string) => choose(label, (i, s) => s.combine[i] === combine);
export const chooseFill = (fill: number, label: string) => choose(label, (i, s) => s.fill[i] === fill);
export const chooseFlag = (flag: number, label: string) => choose(label, (i, s) => s.flag[i] === flag);
