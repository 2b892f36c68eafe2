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

export function TicketForm() {
	const f = form.value!;
	const put = (x: Partial<Draft>) => (form.value = { ...f, ...x });
	const [net, gross, tare] = [keyed(f.net), keyed(f.gross), keyed(f.tare)];
	const given = net ?? (gross !== null && tare !== null ? gross - tare : null);
	const given_kg = given === null ? null : toKg(given);
	const time_s = Number(readValue('time_s', f.time, null) ?? Math.round(now_s()));
	const order = likely(given_kg, time_s);
	const load = f.chosen ? f.load : f.combine !== '' ? '' : (order[0]?.id ?? '');
	const shown = [...order.slice(0, 6).map((l) => l.id), ...(load !== '' ? [load] : [])];
	const [moisture, testWeight] = [keyed(f.moisture), keyed(f.testWeight)];
	const unread = [
		[f.net, net],
		[f.gross, gross],
		[f.tare, tare],
		[f.moisture, moisture],
		[f.testWeight, testWeight],
	].some(([text, n]) => text !== '' && n === null);
	const save = () =>
		unless(askTicket(given_kg!, load === '' ? null : load, moisture), t.yesSave(mass(given_kg)), async () => {
			await putTicket({
				number: f.number.trim(),
				load: load === '' ? null : load,
				time_s,
				net_kg: net === null ? null : toKg(net),
				gross_kg: gross === null ? null : toKg(gross),
				tare_kg: tare === null ? null : toKg(tare),
				moisture_pct: moisture,
				testWeight_kg_hl: testWeight === null ? null : toKgHl(testWeight),
				destination: f.destination === '' ? null : f.destination,
				combine: f.combine === '' ? null : f.combine,
				field: f.combine === '' ? null : (field.value?.id ?? fields.value[0]?.id ?? null),
			});
			form.value = null;
		});
	const typed = [f.number, f.net, f.gross, f.tare, f.moisture, f.testWeight].some((x) => x !== '');
	return (
		<Sheet title={t.newTicket} close={() => (form.value = null)} dirty={typed}>
			<Form class="mend ticket-form" submit={save}>
				<Box label={t.columns.net_kg!} unit={massUnit()} numeric focus value={f.net} set={(v) => put({ net: v })} />
				<Box label={t.columns.moisture_pct!} unit="%" numeric value={f.moisture} set={(v) => put({ moisture: v })} />
				<Box label={t.columns.number!} value={f.number} set={(number_) => put({ number: number_ })} />
				<Menu
					label={f.chosen ? t.columns.load! : `${t.columns.load} (${t.suggested})`}
					value={load}
					options={[
						['', t.noLoad],
						...[...new Set(shown)].map(
							(id) => [id, `${truckLabel(id)} · ${mass(grain.value.loads.get(id)!.cart_kg)}`] as const,
						),
					]}
					set={(id) => put({ load: id, chosen: true })}
				/>
				<Button
					type="submit"
					class="main large"
					disabled={given === null || given <= 0 || unread}
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
				<details>
					<summary>{t.grossAndTare}</summary>
					<div class="mend">
						<Box label={t.columns.gross_kg!} unit={massUnit()} numeric value={f.gross} set={(v) => put({ gross: v })} />
						<Box label={t.columns.tare_kg!} unit={massUnit()} numeric value={f.tare} set={(v) => put({ tare: v })} />
						<Box
							label={t.columns.testWeight_kg_hl!}
							unit={testWeightUnit()}
							numeric
							value={f.testWeight}
							set={(v) => put({ testWeight: v })}
						/>
						<Menu
							label={t.straightFrom}
							value={f.combine}
							options={[['', t.notStraight], ...combines.value.map((c) => [c.id, c.v.name] as const)]}
							set={(combine) => put({ combine })}
						/>
					</div>
				</details>
			</Form>
		</Sheet>
	);
}
