import {
	cartSentence,
	clockSentence,
	countOf,
	dumpsSentence,
	FieldClock,
	factorRange,
	faultText,
	formatNumber,
	formatQuantity,
	formatSigned,
	inOneSystem,
	monitorSentence,
	type Result,
	type ResultDump,
	type Run,
	rangeText,
	STATUS_WORDS,
	seamSentences,
	secondsOf,
	shown,
	stated,
	tankLoad,
	type UnitSystem,
} from '../index.ts';
import { plain, table, wrapped } from './terminal.ts';

/** The short summary printed by `correct`, `view` and `start`. */
export function summary(run: Run, units: UnitSystem): string {
	const { result, field } = run;
	const { crop } = field.plan;
	const own = (text: string) => wrapped(plain(inOneSystem(text, units)), 2);
	const lines = [`${plain(field.plan.name)} (${plain(field.plan.crop.name)})`];
	for (const name of Object.keys(result.combines)) lines.push(own(monitorSentence(result, name)));
	const corrected = Object.values(result.combines).some((c) => c.factor !== null);
	for (const seam of result.seams) {
		if (seam.pair[0] !== seam.pair[1]) lines.push(own(seamSentences(seam, corrected).join(' ')));
	}
	lines.push(own(totalsLine(result, units, crop)));
	lines.push(own(dumpsSentence(result)));
	if (result.set_aside.length > 0) {
		lines.push(
			own(
				`${countOf(result.set_aside.length, 'item')} of the input ${result.set_aside.length === 1 ? 'was' : 'were'} not used; result.json lists why.`,
			),
		);
	}
	for (const note of result.notes.filter((n) => n.level === 'caution')) lines.push(own(`Caution: ${note.text}`));
	return lines.join('\n');
}

/** Ground, wet weight, dry grain with its interval. */
function totalsLine(result: Result, units: UnitSystem, crop: Run['field']['plan']['crop']): string {
	const { totals } = result;
	const dry = stated(result.statements, 'dry_weight');
	const grain = shown('grain', units, crop);
	const range = dry?.interval
		? ` (95% interval ${rangeText([dry.interval[0] * grain.factor, dry.interval[1] * grain.factor], grain.digits)})`
		: '';
	return (
		`${formatQuantity(totals.area_ha, 'area', units, crop)}, ${formatQuantity(totals.corrected_kg, 'mass', units, crop)} wet, ` +
		`${formatQuantity(totals.dry_kg, 'grain', units, crop)} dry at ${crop.market_moisture_pct}% moisture${range}.`
	);
}

/** The output of `check`: what was read, every error, the match as a table. */
export function understanding(run: Run, units: UnitSystem): string {
	const { result, field } = run;
	const shows = new Shows(run, units);
	const sentences = [clockSentence(result), cartSentence(result, 100 * run.reference.limit_rel)];
	return [
		inputs(field.inputs),
		combines(result.combines),
		...paragraph(sentences.filter((s) => s !== '').map((s) => wrapped(shows.own(s)))),
		...(result.dumps.length > 0 ? dumps(result, shows) : []),
		...(result.trucks.length > 0 ? [trucks(result.trucks, shows)] : []),
		...(result.unweighed.length > 0 ? [unweighed(result.unweighed, shows)] : []),
		...(result.set_aside.length > 0
			? [`Not used:\n${result.set_aside.map((f) => wrapped(shows.own(faultText(f)), 2)).join('\n')}`]
			: []),
		...result.notes.filter((n) => n.level === 'note').map((n) => wrapped(shows.own(`Note: ${n.text}`))),
	].join('\n\n');
}

/** Quantities, times and texts of a run as `check` shows them. */
class Shows {
	readonly clock: FieldClock;
	readonly mass: { unit: string; factor: number };
	readonly names: string[];

	constructor(
		{ field, result }: Run,
		private readonly units: UnitSystem,
	) {
		this.clock = new FieldClock(field.plan.timeZone);
		this.mass = shown('mass', units, field.plan.crop);
		this.names = Object.keys(result.combines);
	}

	own(text: string): string {
		return plain(inOneSystem(text, this.units));
	}

	weight(kg: number | null | undefined): string {
		return kg === null || kg === undefined ? '–' : formatNumber(kg * this.mass.factor, 0);
	}

	minute(iso: string | null): string {
		return this.clock.dayAndMinute(secondsOf(iso));
	}

	get zone(): string {
		return `Times: ${plain(this.clock.zone)}`;
	}
}

/** A column of a table: its head, what it shows of a row, and whether it is aligned to the right. */
type Column<T> = readonly [head: string, cell: (row: T) => string, right?: 'right'];

function grid<T>(rows: readonly T[], columns: readonly Column<T>[]): string {
	return table(
		columns.map(([head]) => head),
		rows.map((row) => columns.map(([, cell]) => cell(row))),
		columns.flatMap(([, , right], k) => (right ? [k] : [])),
	);
}

/** Lines as one part of the output; none where there are no lines. */
const paragraph = (lines: readonly string[]): string[] => (lines.length > 0 ? [lines.join('\n')] : []);

const inputs = (files: Result['inputs']): string =>
	grid(files, [
		['file', (i) => plain(i.file)],
		['rows', (i) => (i.rows > 0 ? formatNumber(i.rows, 0) : ''), 'right'],
		['bytes', (i) => formatNumber(i.bytes, 0), 'right'],
		['SHA-256', (i) => i.sha256.slice(0, 16)],
	]);

const combines = (all: Result['combines']): string =>
	grid(Object.entries(all), [
		['combine', ([name]) => plain(name)],
		['records', ([, c]) => formatNumber(c.records, 0), 'right'],
		['left off the map', ([, c]) => formatNumber(c.flagged, 0), 'right'],
		['tank loads', ([, c]) => formatNumber(c.fills, 0), 'right'],
		['delay, s', ([, c]) => formatNumber(c.lag_s, 1), 'right'],
		['factor', ([, c]) => (c.factor ? formatNumber(c.factor.value, 3) : 'none'), 'right'],
		['95% interval', ([, c]) => (c.factor ? factorRange(c.factor.interval) : '')],
	]);

/** The dumps as a table, and why each that is not used alone is not. */
function dumps({ dumps: all }: Result, shows: Shows): string[] {
	const days = shows.clock.days(all.map((d) => secondsOf(d.end)));
	const when = days.includes(' to ')
		? (iso: string | null) => shows.minute(iso)
		: (iso: string | null) => shows.clock.second(secondsOf(iso));
	const inferred = (d: ResultDump) => d.combine_source === 'inferred' && d.combine !== null;
	const rows = grid(all, [
		['dump', (d) => plain(d.id)],
		['combine', (d) => `${plain(d.combine ?? '–')}${inferred(d) ? ' *' : ''}`],
		['load', (d) => plain(tankLoad(d.fill, shows.names)), 'right'],
		['ended', (d) => when(d.end), 'right'],
		['cart', (d) => shows.weight(d.cart_kg), 'right'],
		['reference', (d) => shows.weight(d.reference_kg), 'right'],
		['monitor', (d) => shows.weight(d.monitor_kg), 'right'],
		['error', (d) => (d.error_pct === null ? '–' : `${formatSigned(d.error_pct, 1)}%`), 'right'],
		['status', (d) => STATUS_WORDS[d.status]],
	]);
	const head = `Dumps, weights in ${shows.mass.unit}. ${shows.zone}${days === '' ? '' : `, ${days}`}.`;
	const foot = all.some(inferred) ? '\n* combine inferred, not entered' : '';
	const why = all.flatMap((d) =>
		d.reason === null ? [] : [wrapped(shows.own(`${d.id} ${STATUS_WORDS[d.status]}: ${d.reason}`), 2)],
	);
	return [`${head}\n${rows}${foot}`, ...paragraph(why)];
}

function trucks(all: Result['trucks'], shows: Shows): string {
	const rows = grid(all, [
		['truckload', (t) => plain(t.truck_load)],
		['offloads', (t) => shows.weight(t.offloads_kg), 'right'],
		['dumps', (t) => shows.weight(t.dumps_kg), 'right'],
		[
			'difference',
			(t) => (t.difference_kg === null ? '–' : formatSigned(t.difference_kg * shows.mass.factor, 0)),
			'right',
		],
		['ticket', (t) => shows.weight(t.ticket_kg), 'right'],
	]);
	const remarks = all.flatMap((t) =>
		t.remark === null ? [] : [wrapped(shows.own(`${t.truck_load}: ${t.remark}`), 2)],
	);
	const head = `Trucks, weights in ${shows.mass.unit}, as the cart and the tickets show them.`;
	return [head, rows, ...remarks].join('\n');
}

function unweighed(all: Result['unweighed'], shows: Shows): string {
	const rows = grid(all, [
		['combine', (u) => plain(u.combine)],
		['from', (u) => shows.minute(u.start)],
		['to', (u) => shows.minute(u.end)],
		['monitor', (u) => shows.weight(u.monitor_kg), 'right'],
		['deduced', (u) => shows.weight(u.deduced_kg), 'right'],
	]);
	const why = all.map((u) => wrapped(shows.own(`${u.combine}, ${shows.minute(u.end)}: ${u.reason}`), 2));
	return [`Not weighed, weights in ${shows.mass.unit}. ${shows.zone}.`, rows, ...why].join('\n');
}
