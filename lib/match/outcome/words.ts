export { massInBoth as weight } from '../../units/index.ts';

/** A span of time: "35 s", "4 min", "2 h 10 min". */
export function span(seconds: number): string {
	const s = Math.round(Math.abs(seconds));
	if (s < 120) return `${s} s`;
	const min = Math.round(s / 60);
	if (min < 120) return `${min} min`;
	return min % 60 === 0 ? `${min / 60} h` : `${Math.floor(min / 60)} h ${min % 60} min`;
}
