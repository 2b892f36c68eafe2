import {
	cartSentence,
	clockSentence,
	countOf,
	dumpsSentence,
	FieldClock,
	faultText,
	formatNumber,
	formatQuantity,
	formatSigned,
	inOneSystem,
	monitorSentence,
	type Result,
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
	const { field, result } = run;
	const { crop } = field.plan;
	const clock = new FieldClock(field.plan.timeZone);
	const own = (text: string) => plain(inOneSystem(text, units));
	const unit = shown('mass', units, crop).unit;
	const mass = (kg: number | null | undefined) =>
		kg === null || kg === undefined ? '–' : formatNumber(kg * shown('mass', units, crop).factor, 0);
	const names = Object.keys(result.combines);
	const parts: string[] = [];
	parts.push(
		table(
			['file', 'rows', 'bytes', 'SHA-256'],
			field.inputs.map((i) => [
				plain(i.file),
				i.rows > 0 ? formatNumber(i.rows, 0) : '',
				formatNumber(i.bytes, 0),
				i.sha256.slice(0, 16),
			]),
			[1, 2],
		),
	);
	parts.push(
		table(
			['combine', 'records', 'left off the map', 'tank loads', 'delay, s', 'factor', '95% interval'],
			Object.entries(result.combines).map(([name, c]) => [
				plain(name),
				formatNumber(c.records, 0),
				formatNumber(c.flagged, 0),
				formatNumber(c.fills, 0),
				formatNumber(c.lag_s, 1),
				c.factor ? formatNumber(c.factor.value, 3) : 'none',
				c.factor ? rangeText(c.factor.interval, 3) : '',
			]),
			[1, 2, 3, 4, 5],
		),
	);
	const limit = 100 * run.reference.limit_rel;
	parts.push(
		[clockSentence(result), cartSentence(result, limit)]
			.filter((s) => s !== '')
			.map((s) => wrapped(own(s)))
			.join('\n'),
	);
	const zone = `Times: ${plain(clock.zone)}`;
	const days = clock.days(result.dumps.map((d) => secondsOf(d.end)));
	const when = (iso: string | null) =>
		days.includes(' to ') ? clock.dayAndMinute(secondsOf(iso)) : clock.second(secondsOf(iso));
	if (result.dumps.length > 0) {
		const rows = result.dumps.map((d) => [
			plain(d.id),
			`${plain(d.combine ?? '–')}${d.combine_source === 'inferred' && d.combine !== null ? ' *' : ''}`,
			plain(tankLoad(d.fill, names)),
			when(d.end),
			mass(d.cart_kg),
			mass(d.reference_kg),
			mass(d.monitor_kg),
			d.error_pct === null ? '–' : `${formatSigned(d.error_pct, 1)}%`,
			STATUS_WORDS[d.status],
		]);
		const head = ['dump', 'combine', 'load', 'ended', 'cart', 'reference', 'monitor', 'error', 'status'];
		const inferred = result.dumps.some((d) => d.combine_source === 'inferred' && d.combine !== null);
		parts.push(
			`Dumps, weights in ${unit}. ${zone}${days === '' ? '' : `, ${days}`}.\n${table(head, rows, [2, 3, 4, 5, 6, 7])}${inferred ? '\n* combine inferred, not entered' : ''}`,
		);
		const why = result.dumps.flatMap((d) =>
			d.reason === null ? [] : [wrapped(own(`${d.id} ${STATUS_WORDS[d.status]}: ${d.reason}`), 2)],
		);
		if (why.length > 0) parts.push(why.join('\n'));
	}
	if (result.trucks.length > 0) {
		const head = ['truckload', 'offloads', 'dumps', 'difference', 'ticket'];
		const rows = result.trucks.map((t) => [
			plain(t.truck_load),
			mass(t.offloads_kg),
			mass(t.dumps_kg),
			t.difference_kg === null ? '–' : formatSigned(t.difference_kg * shown('mass', units, crop).factor, 0),
			mass(t.ticket_kg),
		]);
		const remarks = result.trucks.flatMap((t) =>
			t.remark === null ? [] : [wrapped(own(`${t.truck_load}: ${t.remark}`), 2)],
		);
		parts.push(
			[
				`Trucks, weights in ${unit}, as the cart and the tickets show them.`,
				table(head, rows, [1, 2, 3, 4]),
				...remarks,
			].join('\n'),
		);
	}
	if (result.unweighed.length > 0) {
		parts.push(
			`Not weighed, weights in ${unit}. ${zone}.\n${table(
				['combine', 'from', 'to', 'monitor', 'deduced'],
				result.unweighed.map((u) => [
					plain(u.combine),
					clock.dayAndMinute(secondsOf(u.start)),
					clock.dayAndMinute(secondsOf(u.end)),
					mass(u.monitor_kg),
					mass(u.deduced_kg),
				]),
				[3, 4],
			)}\n${result.unweighed.map((u) => wrapped(own(`${u.combine}, ${clock.dayAndMinute(secondsOf(u.end))}: ${u.reason}`), 2)).join('\n')}`,
		);
	}
	if (result.set_aside.length > 0) {
		parts.push(`Not used:\n${result.set_aside.map((f) => wrapped(own(faultText(f)), 2)).join('\n')}`);
	}
	for (const note of result.notes.filter((n) => n.level === 'note')) parts.push(wrapped(own(`Note: ${note.text}`)));
	return parts.join('\n\n');
}
