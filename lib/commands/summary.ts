import {
	type Crop,
	faultText,
	formatQuantity,
	type Result,
	type ResultFactor,
	type Run,
	type UnitSystem,
} from '../index.ts';
import { plain, table } from './terminal.ts';

/** 4.86 → "+4.86": a sign always, since the direction is the message. */
function signed(x: number, digits = 2): string {
	const text = x.toFixed(digits);
	return x > 0 ? `+${text}` : text;
}

const counted = (n: number, what: string, plural = 's'): string => `${n} ${what}${n === 1 ? '' : plural}`;

/** What a monitor shows against the scale, in words. */
export function verdict(name: string, factor: ResultFactor | null): string {
	if (!factor) return `${name}: no weight speaks for it; its yields stand as recorded.`;
	const error = 100 * (1 / factor.value - 1);
	const half = (100 * (factor.interval[1] - factor.interval[0])) / 2 / factor.value;
	const word = Math.abs(error) <= half ? 'agrees with the scale' : error > 0 ? 'shows too much' : 'shows too little';
	return `${name} ${word}: error ${signed(error)} % (± ${half.toFixed(2)}), factor ${factor.value.toFixed(4)} [${factor.interval[0].toFixed(4)}, ${factor.interval[1].toFixed(4)}], ${factor.form}, from ${factor.n} ${factor.source}.`;
}

/** The short summary that `correct`, `view` and `start` print. */
export function summary(run: Run, units: UnitSystem): string {
	const { result, field } = run;
	const { crop } = field.plan;
	const lines = [`${plain(field.plan.name)} (${plain(field.plan.crop.name)})`];
	for (const [name, combine] of Object.entries(result.combines))
		lines.push(`  ${plain(verdict(name, combine.factor))}`);
	const seam = result.seams.find((s) => s.pair[0] !== s.pair[1]);
	if (seam) {
		lines.push(
			`  Seams ${plain(seam.pair.join(' against '))}: ${signed(seam.before_pct)} % before, ${signed(seam.after_pct)} % after correction.`,
		);
	}
	const t = result.totals;
	lines.push(
		`  ${formatQuantity(t.area_ha, 'area', units, crop)}, ${formatQuantity(t.corrected_kg, 'mass', units, crop)} wet, ${formatQuantity(t.dry_kg, 'grain', units, crop)} dry at ${crop.market_moisture_pct} %.`,
	);
	const used = result.dumps.filter((d) => d.status !== 'aside').length;
	lines.push(
		`  ${used} of ${counted(result.dumps.length, 'dump')} used, ${counted(result.unweighed.length, 'stretch', 'es')} without a weight, ${counted(result.set_aside.length, 'thing')} set aside.`,
	);
	for (const note of result.notes.filter((n) => n.level === 'caution')) lines.push(`  Caution: ${plain(note.text)}`);
	return lines.join('\n');
}

/** Everything that `check` shows: what was understood, every fault, the alignment as a table. */
export function understanding(run: Run, units: UnitSystem): string {
	const { field, result } = run;
	const mass = (kg: number) => formatQuantity(kg, 'mass', units, field.plan.crop);
	const parts: string[] = [];
	parts.push(
		table(
			['file', 'rows', 'bytes', 'SHA-256'],
			field.inputs.map((i) => [
				plain(i.file),
				i.rows > 0 ? String(i.rows) : '',
				String(i.bytes),
				i.sha256.slice(0, 16),
			]),
			[1, 2],
		),
	);
	const lags = Object.entries(result.combines).map(([name, c]) => [
		plain(name),
		String(c.records),
		String(c.flagged),
		String(c.fills),
		c.lag_s === null ? 'not found' : `${c.lag_s.toFixed(1)} ± ${(c.lag_u_s ?? 0).toFixed(1)} s`,
		c.factor ? c.factor.value.toFixed(4) : 'none',
		c.factor ? `${c.factor.interval[0].toFixed(4)} to ${c.factor.interval[1].toFixed(4)}` : '',
	]);
	parts.push(table(['combine', 'records', 'flagged', 'fills', 'lag', 'factor', '95 %'], lags, [1, 2, 3, 5]));
	parts.push(clockLine(result));
	if (result.dumps.length > 0) parts.push(alignment(result, units, field.plan.crop));
	if (result.unweighed.length > 0) {
		parts.push(
			`Without a weight:\n${table(
				['combine', 'from', 'to', 'monitor', 'deduced', 'why'],
				result.unweighed.map((u) => [
					plain(u.combine),
					clockTime(u.start),
					clockTime(u.end),
					mass(u.monitor_kg),
					u.deduced_kg === undefined ? '' : mass(u.deduced_kg),
					plain(u.reason),
				]),
				[3, 4],
			)}`,
		);
	}
	if (result.set_aside.length > 0) {
		parts.push(`Set aside:\n${result.set_aside.map((f) => `  ${plain(faultText(f))}`).join('\n')}`);
	}
	for (const note of result.notes) parts.push(`${note.level === 'caution' ? 'Caution' : 'Note'}: ${plain(note.text)}`);
	return parts.join('\n\n');
}

function clockLine({ clock, reference }: Result): string {
	const cart =
		reference.source === 'tickets'
			? `Cart scale: certified / cart ${reference.ratio.toFixed(4)} [${reference.interval[0].toFixed(4)}, ${reference.interval[1].toFixed(4)}] from ${reference.n} truck loads.`
			: `Cart scale: not checked against tickets, ratio 1 [${reference.interval[0].toFixed(4)}, ${reference.interval[1].toFixed(4)}].`;
	if (clock.offset_s === null) return cart;
	return `Cart clock: add ${signed(clock.offset_s, 0)} s (± ${(clock.u_s ?? 0).toFixed(0)} s, ${clock.source}) to get the logs' time.\n${cart}`;
}

function alignment(result: Result, units: UnitSystem, crop: Crop): string {
	const mass = (kg: number | null) => (kg === null ? '' : formatQuantity(kg, 'mass', units, crop));
	return table(
		['dump', 'combine', 'fill', 'unloading', 'cart', 'reference', 'monitor', 'error %', 'status', 'reason'],
		result.dumps.map((d) => [
			plain(d.id),
			`${plain(d.combine ?? '?')}${d.combine_source === 'inferred' ? ' *' : ''}`,
			plain(d.fill ?? ''),
			d.start && d.end ? `${clockTime(d.start)}–${clockTime(d.end).slice(-8)}` : '',
			mass(d.cart_kg),
			mass(d.reference_kg),
			mass(d.monitor_kg),
			d.error_pct === null ? '' : signed(d.error_pct, 1),
			d.status,
			plain(d.reason ?? ''),
		]),
		[4, 5, 6, 7],
	).concat('\n* inferred, not noted. Times are UTC.');
}

function clockTime(iso: string): string {
	return iso.slice(5, 19).replace('T', ' ');
}
