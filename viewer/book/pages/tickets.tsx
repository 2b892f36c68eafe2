/** Truckloads on both scales: tickets as they come in, the cart ratio and what it is based on. */
import { signal } from '@preact/signals';
import { greatest } from 'd3-array';
import { ENOUGH_LOADS, find, type LoadNow, ticketNet_kg } from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { number } from '../../state/format.ts';
import { cautionWords, noTickets } from '../model/advice.ts';
import { opened } from '../model/route.ts';
import { book, cautions, field, grain, ratio } from '../model/state.ts';
import { mass, nameOfThing, pct, plainPct, t, truckLabel, when } from '../model/words.ts';
import { Care, Numbers, Pick, Worked } from '../ui/parts.tsx';
import { blank, form, TicketForm } from '../ui/ticket-form.tsx';
import { Items } from '../ui/window.tsx';

const which = signal<'field' | 'season' | 'open'>('field');

/** Truckloads with grain on them, the newest first. */
function loadsNow(): LoadNow[] {
	const of = field.value?.id ?? null;
	return [...grain.value.loads.values()]
		.filter((l) => l.cart_kg > 0 || l.tickets.length > 0)
		.filter(
			(l) =>
				which.value === 'season' || (which.value === 'open' ? l.ticket_kg === null : of === null || touches(l, of)),
		)
		.reverse();
}

const touches = (l: LoadNow, fieldId: string): boolean =>
	l.holds.some((p) => find(book.value, 'dump', p.dump)?.v.field === fieldId) ||
	l.tickets.some((k) => find(book.value, 'ticket', k)?.v.field === fieldId);

/** Height of a truckload's line, CSS pixels: all lines have the same height, so that a long list can be drawn by window. */
const LINE = 132;

export function TicketsPage() {
	const found = ratio.value;
	// Where the tickets may be wrong, the ratio under the likeliest explanation; its interval is over all of them.
	const r = greatest(found?.either ?? [], (e) => e.weight)?.ratio ?? found;
	const loads = loadsNow();
	const off = r && r.source === 'tickets' ? 100 * (1 / r.ratio - 1) : null;
	return (
		<div class="page">
			<h2>{t.ticketsTitle}</h2>
			<div class="buttons">
				<Button class="main large" onClick={() => (form.value = blank(null))} text={t.newTicket} />
			</div>
			<section class="card ratio" aria-label={t.ratio}>
				{r && r.source === 'tickets' ? (
					<>
						<p class="big">{t.cartReads(plainPct(Math.abs(off!), 2), off! > 0)}</p>
						<Numbers
							of={[
								[t.ratio, number(r.ratio, 4)],
								[t.ratioInterval, t.range(number(found!.interval[0], 4), number(found!.interval[1], 4))],
								[t.truckloadsUsed, r.n],
							]}
						/>
						{r.n < ENOUGH_LOADS && <Care>{t.fewLoads(r.n)}</Care>}
					</>
				) : (
					<Care>{noTickets()}</Care>
				)}
				{cautions.value
					.filter((c) => c.kind === 'dry' || c.kind === 'tickets')
					.map((c) => (
						<Care key={c.kind}>{cautionWords(c)}</Care>
					))}
				<Worked id="ratio" />
			</section>
			<Pick
				label={t.filterTickets}
				options={[
					['field', t.oneField],
					['open', t.noTicketOnly],
					['season', t.allSeason],
				]}
				value={which.value}
				choose={(v) => (which.value = v)}
			/>
			{loads.length === 0 && <p class="soft">{t.nothingYet}</p>}
			<Items rows={loads} height={LINE} class="loads" draw={(l) => <LoadLine key={l.id} load={l} />} />
			{form.value && <TicketForm />}
		</div>
	);
}

function LoadLine(props: { load: LoadNow }) {
	const l = props.load;
	const pair = ratio.value?.pairs.find((p) => p.load === l.id);
	const off = l.ticket_kg !== null && l.cart_kg > 0 && !l.straight ? 100 * (l.cart_kg / l.ticket_kg - 1) : null;
	const fieldsOf = [...new Set(l.holds.map((p) => nameOfThing(find(book.value, 'dump', p.dump)?.v.field ?? null)))];
	const opened_s = find(book.value, 'load', l.id)?.v.opened_s ?? 0;
	return (
		<li class="load">
			<button type="button" class="line-button" onClick={() => (opened.value = l.id)}>
				<b>{truckLabel(l.id)}</b>
				<span class="soft">{[when(opened_s), ...fieldsOf.slice(0, 2)].filter((x) => x !== '').join(' · ')}</span>
				<span class="n">{mass(l.cart_kg)}</span>
			</button>
			<div class="tickets-of">
				{l.tickets.slice(0, 2).map((id) => (
					<button key={id} type="button" onClick={() => (opened.value = id)}>
						{t.ticketIs(nameOfThing(id), mass(ticketNet_kg(find(book.value, 'ticket', id)!.v)))}{' '}
						{off !== null && <span class="soft">{t.cartOff(pct(off, 1))}</span>}
					</button>
				))}
				{l.ticket_kg === null && <Button onClick={() => (form.value = blank(l.id))} text={t.addTicket} />}
				{pair?.reason && pair.reason !== 'no ticket' && <span class="warn small">{t.notUsed[pair.reason]}</span>}
			</div>
		</li>
	);
}
