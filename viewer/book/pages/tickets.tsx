/** Truck loads on both scales: tickets as they come back, the cart's ratio and what it rests on. */
import { signal } from '@preact/signals';
import { ENOUGH_LOADS, kept, type LoadNow } from '../../../lib/book/index.ts';
import { interval, number } from '../../state/format.ts';
import { putTicket } from '../model/acts.ts';
import { opened } from '../model/route.ts';
import { book, combines, field, fields, grain, ratio } from '../model/state.ts';
import {
	keyed,
	mass,
	massUnit,
	nameOfThing,
	pct,
	t,
	testWeightUnit,
	toKg,
	toKgHl,
	truckLabel,
} from '../model/words.ts';
import { Box, Care, Menu, Sheet, Worked } from '../ui/parts.tsx';

interface Form {
	load: string;
	number: string;
	net: string;
	gross: string;
	tare: string;
	moisture: string;
	testWeight: string;
	combine: string;
}
const form = signal<Form | null>(null);
const blank = (load: string): Form => ({
	load,
	number: '',
	net: '',
	gross: '',
	tare: '',
	moisture: '',
	testWeight: '',
	combine: '',
});

export function TicketsPage() {
	const r = ratio.value;
	const loads = [...grain.value.loads.values()].filter((l) => l.cart_kg > 0 || l.tickets.length > 0).reverse();
	const off = r && r.source === 'tickets' ? 100 * (1 / r.ratio - 1) : null;
	return (
		<div class="page">
			<h2>{t.ticketsTitle}</h2>
			<section class="card ratio" aria-label={t.ratio}>
				{r && r.source === 'tickets' ? (
					<>
						<p class="big">{t.cartReads(pct(Math.abs(off!), 2).replace('+', ''), off! > 0)}</p>
						<dl class="numbers">
							<dt>{t.ratio}</dt>
							<dd>{number(r.ratio, 4)}</dd>
							<dt>{t.ratioInterval}</dt>
							<dd>{interval(r.interval, 4)}</dd>
							<dt>{t.loadsUsed}</dt>
							<dd>{r.n}</dd>
						</dl>
						{r.n < ENOUGH_LOADS && <Care>{t.fewLoads(r.n)}</Care>}
					</>
				) : (
					<Care>{t.noTicketYet(number((r?.limit_rel ?? 0.05) * 100, 0))}</Care>
				)}
				<Worked id="ratio" />
			</section>
			<div class="buttons">
				<button type="button" class="main" onClick={() => (form.value = blank(unweighed(loads) ?? ''))}>
					{t.newTicket}
				</button>
			</div>
			<ul class="loads">
				{loads.map((l) => (
					<LoadLine key={l.id} load={l} />
				))}
			</ul>
			{form.value && <TicketForm />}
		</div>
	);
}

/** The oldest load without a ticket: tickets come back in the order in which trucks left. */
function unweighed(newestFirst: LoadNow[]): string | null {
	return newestFirst.filter((l) => l.ticket_kg === null).at(-1)?.id ?? null;
}

function LoadLine(props: { load: LoadNow }) {
	const l = props.load;
	const pair = ratio.value?.pairs.find((p) => p.load === l.id);
	const off = l.ticket_kg !== null && l.cart_kg > 0 && !l.straight ? 100 * (l.cart_kg / l.ticket_kg - 1) : null;
	return (
		<li class="load">
			<button type="button" class="line-button" onClick={() => (opened.value = l.id)}>
				<b>{truckLabel(l.id)}</b>
				<span class="n">{mass(l.cart_kg)}</span>
			</button>
			<div class="tickets-of">
				{l.tickets.map((id) => (
					<button key={id} type="button" onClick={() => (opened.value = id)}>
						{t.ticketIs(nameOfThing(id), mass(l.ticket_kg))}{' '}
						{off !== null && <span class="soft">{t.cartOff(pct(off, 2))}</span>}
					</button>
				))}
				{l.ticket_kg === null && (
					<button type="button" onClick={() => (form.value = blank(l.id))}>
						{t.addTicket}
					</button>
				)}
				{pair?.reason && pair.reason !== 'no ticket' && <span class="warn">{t.notUsed[pair.reason]}</span>}
			</div>
		</li>
	);
}

function TicketForm() {
	const f = form.value!;
	const put = (x: Partial<Form>) => (form.value = { ...f, ...x });
	const [net, gross, tare] = [keyed(f.net), keyed(f.gross), keyed(f.tare)];
	const given = net ?? (gross !== null && tare !== null ? gross - tare : null);
	const loads = kept(book.value, 'load').filter((l) => grain.value.loads.has(l.id));
	const save = async () => {
		const moisture = keyed(f.moisture);
		const testWeight = keyed(f.testWeight);
		await putTicket({
			number: f.number.trim(),
			load: f.load === '' ? null : f.load,
			net_kg: net === null ? null : toKg(net),
			gross_kg: gross === null ? null : toKg(gross),
			tare_kg: tare === null ? null : toKg(tare),
			moisture_pct: moisture,
			testWeight_kg_hl: testWeight === null ? null : toKgHl(testWeight),
			combine: f.combine === '' ? null : f.combine,
			field: f.combine === '' ? null : (field.value?.id ?? fields.value[0]?.id ?? null),
		});
		form.value = null;
	};
	return (
		<Sheet title={t.newTicket} close={() => (form.value = null)}>
			<form
				class="mend"
				noValidate
				onSubmit={(e) => {
					e.preventDefault();
					void save();
				}}
			>
				<Menu
					label={t.columns.load!}
					value={f.load}
					options={[
						['', t.noLoad],
						...loads.map((l) => [l.id, `${truckLabel(l.id)} · ${mass(grain.value.loads.get(l.id)!.cart_kg)}`] as const),
					]}
					set={(load) => put({ load })}
				/>
				<Box label={t.columns.number!} value={f.number} set={(number_) => put({ number: number_ })} />
				<Box label={t.columns.net_kg!} unit={massUnit()} numeric value={f.net} set={(v) => put({ net: v })} />
				<details>
					<summary>{t.grossAndTare}</summary>
					<Box label={t.columns.gross_kg!} unit={massUnit()} numeric value={f.gross} set={(v) => put({ gross: v })} />
					<Box label={t.columns.tare_kg!} unit={massUnit()} numeric value={f.tare} set={(v) => put({ tare: v })} />
				</details>
				<Box label={t.columns.moisture_pct!} unit="%" numeric value={f.moisture} set={(v) => put({ moisture: v })} />
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
				<button type="submit" class="main large" disabled={given === null || given <= 0}>
					{t.saveTicket}
				</button>
			</form>
		</Sheet>
	);
}
