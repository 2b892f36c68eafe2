import { boxAround, inBox } from '../../geo/box.ts';
import { polygonsOf } from '../../geo/ring.ts';
import { ASSUMED_HEADER_M, caution, type Field, type Note } from '../../model/index.ts';
import { median } from '../../stats/index.ts';
import { lengthInBoth, massInBoth, someOf } from '../../units/index.ts';

/** Cautions that need everything to be read first. */
export function cautions(field: Field): Note[] {
	const texts: string[] = [];
	const say = (text: string) => texts.push(text);
	const rows = new Map<string, Set<number | null>>();
	for (const { file, row } of field.setAside) rows.set(file, (rows.get(file) ?? new Set()).add(row));
	for (const [file, set] of rows) {
		const n = set.size;
		say(
			`${file}: ${n} ${n === 1 ? 'row has' : 'rows have'} something that is not used; see the list of what was not used.`,
		);
	}
	combinesWithoutLog(field, say);
	season(field, say);
	days(field, say);
	logs(field, say);
	size(field, say);
	displays(field, say);
	apart(field, say);
	if (field.boundary && !overlaps(field)) {
		say(
			'No record lies within the boundary’s extent: are its longitude and latitude swapped, or is it another field’s?',
		);
	}
	return texts.map(caution);
}

/** Names in field.json that no log uses. */
function combinesWithoutLog({ plan, records }: Field, say: (text: string) => void): void {
	const known = new Set(records.combines);
	const named = new Set([
		...Object.keys(plan.combines),
		...Object.keys(plan.pins.factors ?? {}),
		...Object.keys(plan.pins.lags ?? {}),
		...plan.events.flatMap((e) => (e.combine === null ? [] : [e.combine])),
	]);
	for (const name of named) {
		if (!known.has(name)) say(`field.json names combine ${name}, but there is no log of it here.`);
	}
}

function season({ plan, records }: Field, say: (text: string) => void): void {
	const middle_s = records.time_s[records.n >> 1];
	if (plan.season === null || middle_s === undefined) return;
	const year = new Date(middle_s * 1000).getUTCFullYear();
	// Southern harvests extend over the new year.
	if (Math.abs(year - plan.season) > 1) say(`field.json says season ${plan.season}, the logs are of ${year}.`);
}

/** Clock offsets are not searched beyond this: half a day, the error of confusing AM and PM. */
const REACH_S = 12 * 3600;
const DAY_S = 86_400;

/** A cart log whose dumps are on other days than the logs: its date was wrong, or it belongs to another field. */
function days({ book, plan, records }: Field, say: (text: string) => void): void {
	const own = (field: string | null) => field === null || field.toLowerCase() === (plan.name ?? field).toLowerCase();
	const timed = book.dumps
		.filter((d) => (d.timeGrain === 'second' || d.timeGrain === 'minute') && own(d.field))
		.map((d) => d.time_s);
	if (timed.length === 0 || plan.pins.clock_offset_s !== undefined) return;
	let [start_s, end_s] = [Infinity, -Infinity];
	for (const t of records.time_s) [start_s, end_s] = [Math.min(start_s, t), Math.max(end_s, t)];
	const off = (t: number) => (t < start_s ? t - start_s : t > end_s ? t - end_s : 0);
	const far = timed.filter((t) => Math.abs(off(t)) > REACH_S);
	// A list of a whole season has some dumps on these days.
	if (far.length < 0.9 * timed.length) return;
	const by_s = off(far.sort((a, b) => a - b)[far.length >> 1]!);
	const n = Math.max(1, Math.round(Math.abs(by_s) / DAY_S));
	say(
		`${plan.cartLog?.file ?? 'The cart log'}: its dumps are about ${n} ${n === 1 ? 'day' : 'days'} ${by_s > 0 ? 'after' : 'before'} the logs. Is it another field's, or was the cart's date wrong? It is matched as if the date was wrong.`,
	);
}

/** Columns of a log that are never positive. */
function logs({ plan, records: r }: Field, say: (text: string) => void): void {
	plan.logs.forEach((log, index) => {
		const here = (i: number) => r.log[i] === index;
		const holdsAny = r.log.includes(index);
		const nothing = (key: 'flow' | 'swath', own: 'flow_kg_s' | 'swath_m', means: () => string) => {
			if (!holdsAny || r[own].some((value, i) => value > 0 && here(i))) return;
			say(`${log.file}: column ${log.columns?.[key]?.column ?? own} is never above 0: ${means()}.`);
		};
		nothing('flow', 'flow_kg_s', () => 'no grain is recorded');
		nothing('swath', 'swath_m', () => {
			const named = r.combines.filter((_, c) => r.combine.some((own, i) => own === c && here(i)));
			return named.every((name) => (plan.combines[name]?.swath_m ?? 0) > 0)
				? 'the header width in field.json is used'
				: `a header of ${lengthInBoth(ASSUMED_HEADER_M)} is assumed, and the area cut is as wrong as that is`;
		});
	});
}

/** A dump larger than the cart's capacity. */
function size({ book, plan }: Field, say: (text: string) => void): void {
	const sizes = Object.values(plan.scales).flatMap((s) => s.size_kg ?? []);
	if (sizes.length === 0) return;
	const most = Math.max(...sizes);
	const over = book.dumps.filter((d) => d.weight_kg > most);
	if (over.length === 0) return;
	say(
		`${plan.cartLog?.file ?? 'The cart log'}: ${over.length === 1 ? 'dump' : 'dumps'} ${someOf(over.map((d) => d.id))} weighed more than the cart holds by field.json (${massInBoth(most)}). Check size_kg and the unit of the weights.`,
	);
}

/** A display's own total is of the same sensor as its log: they differ by more than this only if they are not of the same grain. */
const DISPLAY_APART = 0.03;

/** Monitors whose display totals are not what their logs add up to. */
function displays({ plan, records: r }: Field, say: (text: string) => void): void {
	r.combines.forEach((name, c) => {
		const shown_kg = plan.combines[name]?.display_total?.wet_kg;
		if (!shown_kg) return;
		let kg = 0;
		for (let i = 0; i < r.n; i++) if (r.combine[i] === c) kg += Math.max(0, r.flow_kg_s[i]! * r.interval_s[i]!) || 0;
		const apart = kg / shown_kg - 1;
		if (!(Math.abs(apart) > DISPLAY_APART)) return;
		say(
			`Combine ${name}: its log adds up to ${massInBoth(kg)}, ${Math.abs(100 * apart).toFixed(0)}% ${apart < 0 ? 'less' : 'more'} than its display's total of ${massInBoth(shown_kg)}. Possible causes: records missing from the log, a monitor calibrated after the log was written, another field in the total, or a unit that is wrong.`,
		);
	});
}

/** Logs of one field lie nearer to each other than this, degrees: some 20 km. */
const FIELD_DEG = 0.2;

/** A log that lies far from the first one. */
function apart({ plan, records: r }: Field, say: (text: string) => void): void {
	const places = plan.logs.map(() => ({ lat: [] as number[], lon: [] as number[] }));
	// Some thousand records tell where a log lies.
	for (let i = 0; i < r.n; i += 1 + (r.n >> 12)) {
		if (Number.isNaN(r.lat_deg[i]! + r.lon_deg[i]!)) continue;
		places[r.log[i]!]!.lat.push(r.lat_deg[i]!);
		places[r.log[i]!]!.lon.push(r.lon_deg[i]!);
	}
	const middles = places.map(({ lat, lon }) => [median(lat), median(lon)] as const);
	const [first, ...others] = middles;
	others.forEach(([lat, lon], k) => {
		if (!(Math.abs(lat - first![0]) > FIELD_DEG || Math.abs(lon - first![1]) > FIELD_DEG)) return;
		const at = ([a, b]: readonly [number, number]) => `${a.toFixed(2)}, ${b.toFixed(2)}`;
		say(
			`${plan.logs[k + 1]!.file} lies far from ${plan.logs[0]!.file} (latitude, longitude ${at([lat, lon])} against ${at(first!)}). Is it another field’s, or are its latitude and longitude exchanged?`,
		);
	});
}

function overlaps({ boundary, records }: Field): boolean {
	const box = boxAround(boundary ? polygonsOf(boundary).flat(2) : []);
	let placed = false;
	for (let i = 0; i < records.n; i++) {
		const lon = records.lon_deg[i]!;
		const lat = records.lat_deg[i]!;
		if (inBox(box, lon, lat)) return true;
		placed ||= !Number.isNaN(lon) && !Number.isNaN(lat);
	}
	return !placed;
}
