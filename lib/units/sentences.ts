import type { Result, ResultFactor, ResultSeam, TruckLoad } from '../model/index.ts';
import { isPlausible, stated } from '../model/index.ts';
import { formatNumber, formatSigned } from './display.ts';

/** How numbers are written: in American English in the report and terminal, by the reader's locale on the page. */
export interface Numbers {
	number(value: number | null | undefined, digits: number): string;
	/** Always with a sign. */
	signed(value: number | null | undefined, digits: number): string;
}

/** Numbers in plain text, as the report and the terminal write them. */
export const plainNumbers: Numbers = { number: formatNumber, signed: formatSigned };

/** A monitor within this is well calibrated (Iowa State University extension, in the farm press, 2015), percent. */
export const TOLERANCE_PCT = 3;

/** "4.2 to 4.8%"; with signs where they are the message. */
export function rangeText(
	[low, high]: readonly [number, number],
	digits: number,
	{ unit = '', sign = false, n = plainNumbers }: { unit?: string; sign?: boolean; n?: Numbers } = {},
): string {
	const write = (v: number) => (sign ? n.signed(v, digits) : n.number(v, digits));
	return `${write(low)} to ${write(high)}${unit}`;
}

/** The 95% interval of a factor; that of one set by hand has no width. */
export const factorRange = (interval: readonly [number, number], n = plainNumbers): string =>
	interval[0] === interval[1] ? 'set by hand' : rangeText(interval, 3, { n });

/** True where an interval excludes zero, so that the direction of a difference is shown. */
export const shows = ([low, high]: readonly [number, number]): boolean => low > 0 || high < 0;

const half = ([low, high]: readonly [number, number]): number => (high - low) / 2;

/** The interval of a size: without signs, lower end first. */
const sizes = ([low, high]: readonly [number, number]): [number, number] => (high <= 0 ? [-high, -low] : [low, high]);

/** One sentence on a combine's monitor compared with the scale. */
export function monitorSentence(result: Result, name: string, n: Numbers = plainNumbers): string {
	const error = stated(result.statements, 'monitor_error', name);
	const factor = result.combines[name]?.factor ?? null;
	if (factor !== null && !error) return `${name}: factor ${n.number(factor.value, 3)}.`;
	if (!error?.interval || factor === null) return `${name}: no factor. Yields are as recorded.`;
	const size = n.number(Math.abs(error.value), 1);
	if ((factor.source as string) === 'pinned') return pinnedSentence(name, factor, n);
	if (!shows(error.interval)) {
		const range = rangeText(error.interval, 1, { unit: '%', sign: true, n });
		return half(error.interval) > TOLERANCE_PCT
			? `${name}: not enough data (${n.signed(error.value, 1)}%; 95% interval ${range}).`
			: `${name}: no error shown (${n.signed(error.value, 1)}%; 95% interval ${range}).`;
	}
	const range = rangeText(sizes(error.interval), 1, { unit: '%', n });
	if (!isPlausible(factor.value))
		return (
			`${name}: check the units of weights and log first, then the match. As they are, ${name} would read ${size}% ` +
			`${error.value > 0 ? 'high' : 'low'} (95% interval ${range}), more than any calibration is off.`
		);
	return `${name} reads ${size}% ${error.value > 0 ? 'high' : 'low'} (95% interval ${range}).`;
}

function pinnedSentence(name: string, factor: ResultFactor, n: Numbers): string {
	const { weighed } = factor as { weighed?: { value: number; interval: [number, number] } | null };
	const own = `${name}: factor ${n.number(factor.value, 3)} set by hand.`;
	if (!weighed) return `${own} Nothing that was weighed supports or contradicts it.`;
	return `${own} The weights give ${n.number(weighed.value, 3)} (95% interval ${rangeText(weighed.interval, 3, { n })}).`;
}

/** How two combines differed on the same ground as recorded and, if `corrected`, how much of that remains. */
export function seamSentences(seam: ResultSeam, corrected: boolean, n: Numbers = plainNumbers): string[] {
	const [a, b] = seam.pair;
	const before = shows(seam.before_interval)
		? `On the same ground ${seam.before_pct > 0 ? a : b} read ${n.number(sizeOf(seam.before_pct), 1)}% more than ` +
			`${seam.before_pct > 0 ? b : a} (95% interval ${rangeText(moreOf(seam.before_interval), 1, { unit: '%', n })}).`
		: `On the same ground no difference shown between ${a} and ${b} as recorded (${signedWith(seam.before_pct, seam.before_interval, n)}).`;
	if (!corrected) return [before];
	return [before, remainsSentence(seam, n)];
}

/** Of a seam whose interval after correction includes zero: none shown, or too little to tell. */
export function noneRemainsSentence(
	seam: Pick<ResultSeam, 'after_pct' | 'after_interval'>,
	n: Numbers = plainNumbers,
): string {
	const amount = signedWith(seam.after_pct, seam.after_interval, n);
	if (half(seam.after_interval) > TOLERANCE_PCT) return `After correction: not enough data (${amount}).`;
	return `No difference shown after correction (${amount}).`;
}

function remainsSentence(seam: ResultSeam, n: Numbers): string {
	if (!shows(seam.after_interval)) return noneRemainsSentence(seam, n);
	const amount = signedWith(seam.after_pct, seam.after_interval, n);
	return `After correction a difference remains (${amount}). Check the dumps, the header width settings, and grain left on the ground.`;
}

/** "A over B" as the percent by which the greater exceeds the lesser. */
const sizeOf = (pct: number): number => (pct < 0 ? 100 * (1 / (1 + pct / 100) - 1) : pct);
const moreOf = ([low, high]: readonly [number, number]): [number, number] =>
	high < 0 ? [sizeOf(high), sizeOf(low)] : [low, high];

function signedWith(value: number, interval: readonly [number, number], n: Numbers): string {
	return `${n.signed(value, 1)}%; 95% interval ${rangeText(interval, 1, { unit: '%', sign: true, n })}`;
}

/** One sentence on a field without usable weights: nothing was weighed, or no weight fits the logs. */
export function noWeightSentence({ dumps, trucks }: Pick<Result, 'dumps' | 'trucks'>): string {
	return dumps.length + trucks.length === 0
		? 'Nothing was weighed in this field.'
		: 'None of the weights given fits the logs of this field.';
}

/** What that means for the map. */
export const AS_RECORDED =
	'Yields are as recorded: the map shows higher and lower areas, but not by how much they are off.';

/** One sentence on the cart scale: its error by the tickets, or the limit assumed. */
export function cartSentence(result: Result, limit_pct: number, n: Numbers = plainNumbers): string {
	const { reference, dumps } = result;
	if (reference.source === 'none') return 'No cart weights for this field.';
	if (reference.source === 'limit') {
		return `The cart scale is assumed good to ±${n.number(limit_pct, 1)}%; no ticket checks it.`;
	}
	if (dumps.length === 0) return 'Weights are from tickets.';
	const error = stated(result.statements, 'cart_error');
	if (!error?.interval) return 'Weights are from tickets.';
	const loads = countOf(reference.n, 'truckload');
	if (!shows(error.interval)) {
		return `The cart scale shows no error over ${loads} (${signedWith(error.value, error.interval, n)}).`;
	}
	const range = rangeText(sizes(error.interval), 1, { unit: '%', n });
	return `The cart scale reads ${n.number(Math.abs(error.value), 1)}% ${error.value > 0 ? 'high' : 'low'} over ${loads} (95% interval ${range}).`;
}

/** How many dumps are used and how many are not. */
export function dumpsSentence(result: Result): string {
	const { dumps, unweighed } = result;
	if (dumps.length === 0) return 'No dumps were weighed.';
	const aside = dumps.filter((d) => d.status === 'aside').length;
	const grouped = dumps.filter((d) => d.status === 'joined').length;
	const parts = [
		aside === 0 ? 'all used' : `${dumps.length - aside} used, ${aside} not used`,
		grouped > 0 ? `${grouped} of them grouped, since grain stayed in the tank between them` : '',
	].filter((p) => p !== '');
	const rest = unweighed.length;
	return `${countOf(dumps.length, 'dump')} weighed, ${parts.join('; ')}.${rest > 0 ? ` ${countOf(rest, 'tank load')} ${rest === 1 ? 'was' : 'were'} not weighed.` : ''}`;
}

/** Why dots of a chart of dumps lie off the one line and band that it draws for each combine; empty where they do not. */
export function chartSentences({ combines, dumps, notes, statements }: Result): string[] {
	const out = Object.entries(combines).flatMap(([name, { factor }]) => {
		if (!factor || factor.form === 'constant') return [];
		const { form, curve = [] } = factor;
		if (form !== 'flow' || curve.length === 0)
			return [`${name}’s error changed during the field: its dumps may lie outside the band.`];
		const lower = curve.at(-1)!.value > curve[0]!.value;
		return [
			`${name}’s error changes with flow. Its line and band are for its average flow: where more of a dump came at high flow, ${name} read ${lower ? 'lower' : 'higher'}, and such dumps may lie outside the band.`,
		];
	});
	const far = dumps.some(({ status, error_pct, combine }) => {
		const range = stated(statements, 'next_dump', combine ?? '')?.interval;
		if (status !== 'used' || error_pct === null || !range || combines[combine!]!.factor?.form !== 'constant')
			return false;
		return error_pct < range[0] - TOLERANCE_PCT || error_pct > range[1] + TOLERANCE_PCT;
	});
	if (far && notes.some((n) => n.level === 'caution'))
		out.push('Some dumps that are used lie far outside the band. See the cautions.');
	return out;
}

/** One sentence on the cart's clock compared with the logs', with the half-width of its 95 % interval. */
export function clockSentence(result: Result, n: Numbers = plainNumbers): string {
	const clock = stated(result.statements, 'cart_clock');
	if (!clock) return '';
	const how = { pinned: 'is set by hand', assumed: 'is assumed' }[clock.source] ?? 'was found';
	const wide = clock.interval ? half(clock.interval) : Number.NaN;
	const u = wide >= 1 ? ` (±${durationText(wide, n)}, 95%)` : '';
	if (Math.abs(clock.value) < 1) return `The cart’s clock ${how} to be in step with the logs${u}.`;
	return `The cart’s clock ${how} to be ${durationText(Math.abs(clock.value), n)} ${clock.value > 0 ? 'behind' : 'ahead of'} the logs${u}.`;
}

/** "35 s", "2 min 9 s", "1 h 5 min". */
export function durationText(seconds: number, n: Numbers = plainNumbers): string {
	const s = Math.round(Math.abs(seconds));
	if (s < 60) return `${n.number(s, 0)} s`;
	if (s < 3600) return `${Math.floor(s / 60)} min${s % 60 ? ` ${s % 60} s` : ''}`;
	const min = Math.round(s / 60);
	return `${n.number(Math.floor(min / 60), 0)} h${min % 60 ? ` ${min % 60} min` : ''}`;
}

/** Truckloads of the cart that have no ticket yet. */
export const outstanding = (trucks: readonly TruckLoad[]): TruckLoad[] =>
	trucks.filter((t) => t.ticket_kg === null && t.offloads_kg !== null);

/** "1 dump", "28 dumps". */
export const countOf = (count: number, one: string): string =>
	`${formatNumber(count, 0)} ${count === 1 ? one : `${one}s`}`;

/** The first few of a list: "D1, D2 and 3 more". */
export function someOf(names: readonly (string | number)[], most = 5, between = ', '): string {
	const more = names.length - most;
	return `${names.slice(0, most).join(between)}${more > 0 ? ` and ${more} more` : ''}`;
}

/** A tank load as people name it: "12" beside its combine's name, "3 + 4" of a mixed weight; "–" where none is known. */
export function tankLoad(fill: string | null, combines: readonly string[]): string {
	if (fill === null) return '–';
	// Longest name first, so that tank loads of A1 are not taken for those of A.
	const names = [...combines].sort((a, b) => b.length - a.length);
	return fill
		.split('+')
		.map((part) => {
			const name = names.find((c) => part.startsWith(c) && /^-?\d+$/.test(part.slice(c.length)));
			return name === undefined ? part : part.slice(name.length).replace(/^-/, '');
		})
		.join(' + ');
}

/** A tank load with its combine: "Heron 12". */
export function fillLabel(fill: string, combines: readonly string[]): string {
	const number = tankLoad(fill, combines);
	return number === fill ? fill : `${fill.slice(0, fill.length - number.length).replace(/-$/, '')} ${number}`;
}

/** What a status is called on screens. */
export const STATUS_WORDS = { used: 'used', joined: 'grouped', aside: 'not used' } as const;
