/** The form for a ticket; the likeliest truckload is suggested. */
import { signal } from '@preact/signals';
import { find, type LoadNow } from '../../../lib/book/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { putTicket } from '../model/acts.ts';
import { askTicket, unless } from '../model/asks.ts';
import { readValue, writtenValue } from '../model/shapes.ts';
import { book, combines, destinations, field, fields, grain, now_s, ratio } from '../model/state.ts';
import { keyed, mass, massUnit, nameOfThing, t, testWeightUnit, toKg, toKgHl, truckLabel } from '../model/words.ts';
import { Box, Menu, Sheet } from './parts.tsx';

interface Draft {
	load: string;
	/** The load was chosen by hand, not suggested. */
	chosen: boolean;
	number: string;
	net: string;
	gross: string;
	tare: string;
	moisture: string;
	testWeight: string;
	combine: string;
	/** In the device's local time; empty = now. */
	time: string;
	destination: string;
}

export const form = signal<Draft | null>(null);

export const blank = (load: string | null): Draft => ({
	load: load ?? '',
	chosen: load !== null,
	number: '',
	net: '',
	gross: '',
	tare: '',
	moisture: '',
	testWeight: '',
	combine: '',
	time: writtenValue('time_s', Math.round(now_s())),
	destination: '',
});

/** Loads without a ticket, the likeliest for a weight and a time first: near in weight, and left before it. */
function likely(net_kg: number | null, time_s: number): LoadNow[] {
	const k = ratio.value?.ratio ?? 1;
	const cost = (l: LoadNow) => {
		const left_s = find(book.value, 'load', l.id)?.v.opened_s ?? 0;
		const hours = (time_s - left_s) / 3600;
		// Half a day of waiting counts like a 12% difference in weight; a later load hardly counts.
		const time = hours < -0.1 ? 3 + Math.abs(hours) / 24 : hours / 100;
		return time + (net_kg === null || l.cart_kg <= 0 ? 0 : Math.abs(net_kg / (l.cart_kg * k) - 1));
	};
	return [...grain.value.loads.values()]
		.filter((l) => l.ticket_kg === null && l.cart_kg > 0)
		.map((l) => ({ l, c: cost(l) }))
		.sort((a, b) => a.c - b.c)
		.map((x) => x.l);
}

/** What a draft says: numbers in the units as typed, null where nothing is or it cannot be read. */
function readDraft(f: Draft) {
	const [net, gross, tare] = [keyed(f.net), keyed(f.gross), keyed(f.tare)];
	const [moisture, testWeight] = [keyed(f.moisture), keyed(f.testWeight)];
	const given = net ?? (gross !== null && tare !== null ? gross - tare : null);
	const texts = [f.net, f.gross, f.tare, f.moisture, f.testWeight];
	return {
		net,
		gross,
		tare,
		moisture,
		testWeight,
		given_kg: given === null ? null : toKg(given),
		time_s: Number(readValue('time_s', f.time, null) ?? Math.round(now_s())),
		unread: [net, gross, tare, moisture, testWeight].some((n, k) => n === null && texts[k] !== ''),
		typed: [f.number, ...texts].some((text) => text !== ''),
	};
}
type Read = ReturnType<typeof readDraft>;

const orNull = (text: string): string | null => (text === '' ? null : text);
const kgOrNull = (typed: number | null): number | null => (typed === null ? null : toKg(typed));

/** Saves a ticket, after the operator has answered what is unlikely in it. */
const saveTicket = (f: Draft, r: Read, load: string) =>
	unless(askTicket(r.given_kg!, orNull(load), r.moisture), t.yesSave(mass(r.given_kg)), async () => {
		await putTicket({
			number: f.number.trim(),
			load: orNull(load),
			time_s: r.time_s,
			net_kg: kgOrNull(r.net),
			gross_kg: kgOrNull(r.gross),
			tare_kg: kgOrNull(r.tare),
			moisture_pct: r.moisture,
			testWeight_kg_hl: r.testWeight === null ? null : toKgHl(r.testWeight),
			destination: orNull(f.destination),
			combine: orNull(f.combine),
			field: f.combine === '' ? null : (field.value?.id ?? fields.value[0]?.id ?? null),
		});
		form.value = null;
	});

export function TicketForm() {
	const f = form.value!;
	const put = (x: Partial<Draft>) => (form.value = { ...f, ...x });
	const r = readDraft(f);
	const order = likely(r.given_kg, r.time_s);
	const load = f.chosen ? f.load : f.combine !== '' ? '' : (order[0]?.id ?? '');
	const shown = new Set([...order.slice(0, 6).map((l) => l.id), ...(load !== '' ? [load] : [])]);
	const cart = (id: string) => `${truckLabel(id)} · ${mass(grain.value.loads.get(id)!.cart_kg)}`;
	return (
		<Sheet title={t.newTicket} close={() => (form.value = null)} dirty={r.typed}>
			<Form class="mend ticket-form" submit={() => saveTicket(f, r, load)}>
				<Box label={t.ticketNet} unit={massUnit()} numeric focus value={f.net} set={(v) => put({ net: v })} />
				<Box label={t.columns.moisture_pct!} unit="%" numeric value={f.moisture} set={(v) => put({ moisture: v })} />
				<Box label={t.columns.number!} value={f.number} set={(number_) => put({ number: number_ })} />
				<Menu
					label={f.chosen ? t.columns.load! : `${t.columns.load} (${t.suggested})`}
					value={load}
					options={[['', t.noLoad], ...[...shown].map((id) => [id, cart(id)] as const)]}
					set={(id) => put({ load: id, chosen: true })}
				/>
				<Button
					type="submit"
					class="main large"
					disabled={r.given_kg === null || r.given_kg <= 0 || r.unread}
					text={t.saveTicket}
				/>
				<Menu
					label={t.columns.destination!}
					value={f.destination}
					options={[
						['', nameOfThing(find(book.value, 'load', load)?.v.destination ?? null) || '–'],
						...destinations.value.map((d) => [d.id, d.v.name] as const),
					]}
					set={(destination) => put({ destination })}
				/>
				<Box label={t.ticketAt} type="datetime-local" value={f.time} set={(time) => put({ time })} />
				<SeldomGiven draft={f} put={put} />
			</Form>
		</Sheet>
	);
}

/** What few tickets have: gross and tare, test weight, and grain that came straight from a combine. */
function SeldomGiven({ draft: f, put }: { draft: Draft; put: (x: Partial<Draft>) => void }) {
	const weight = (label: string, unit: string, key: 'gross' | 'tare' | 'testWeight') => (
		<Box label={label} unit={unit} numeric value={f[key]} set={(v) => put({ [key]: v })} />
	);
	return (
		<details>
			<summary>{t.grossAndTare}</summary>
			<div class="mend">
				{weight(t.columns.gross_kg!, massUnit(), 'gross')}
				{weight(t.columns.tare_kg!, massUnit(), 'tare')}
				{weight(t.columns.testWeight_kg_hl!, testWeightUnit(), 'testWeight')}
				<Menu
					label={t.straightFrom}
					value={f.combine}
					options={[['', t.notStraight], ...combines.value.map((c) => [c.id, c.v.name] as const)]}
					set={(combine) => put({ combine })}
				/>
			</div>
		</details>
	);
}
