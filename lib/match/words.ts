import { POUND_KG } from '../units/index.ts';

/** A weight for a cart operator: pounds first, kilograms beside, both rounded to what can be told. */
export function weight(kg: number): string {
	const step = Math.abs(kg) >= 1000 ? 50 : 10;
	const lb = Math.round(kg / POUND_KG / (2 * step)) * 2 * step;
	return `${thousands(lb)} lb (${thousands(Math.round(kg / step) * step)} kg)`;
}

/** Digits in groups of three, without a locale: the same bytes everywhere. */
function thousands(n: number): string {
	return String(n).replace(/\B(?=(\d{3})+$)/g, ',');
}

/** A span of time: "35 s", "4 min", "2 h 10 min". */
export function span(seconds: number): string {
	const s = Math.round(Math.abs(seconds));
	if (s < 120) return `${s} s`;
	const min = Math.round(s / 60);
	if (min < 120) return `${min} min`;
	return min % 60 === 0 ? `${min / 60} h` : `${Math.floor(min / 60)} h ${min % 60} min`;
}
