/** The first two links: certified scale, and the cart against it. */
import type { Scene } from '../../../lib/model/index.ts';
import { interval, number, quantity, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Link } from './link.tsx';
import { PlotBox, token } from './plot.tsx';

const t = strings.evidence;

export function Certified({ s }: { s: Scene }) {
	const { result, evidence, field } = s.facts;
	const tickets = evidence?.tickets ?? [];
	const kg = result.totals.ticket_kg;
	if (!(kg > 0))
		return (
			<Link
				id="certified"
				name={t.certified}
				tone="warn"
				verdict={result.reference.source === 'none' ? t.noTicketsNoCart : t.noTickets}
			/>
		);
	return (
		<Link
			id="certified"
			name={t.certified}
			verdict={evidence ? t.tickets(tickets.length) : t.ticketsSum}
			figure={{ value: quantity(kg, 'grain', field.crop) }}
			tableName={t.ticketTable}
			table={
				tickets.length > 0 && (
					<table>
						<thead>
							<tr>
								<th scope="col">{t.ticket}</th>
								<th scope="col">{t.truckLoad}</th>
								<th scope="col" class="n">
									{t.net}
								</th>
								<th scope="col" class="n">
									{t.moisture}
								</th>
								<th scope="col">{t.destination}</th>
							</tr>
						</thead>
						<tbody>
							{tickets.map((k) => (
								<tr key={k.order}>
									<td>{k.ticket}</td>
									<td>{k.truckLoad ?? (k.combine ? t.straight(k.combine) : '–')}</td>
									<td class="n">{quantity(k.net_kg, 'mass', field.crop)}</td>
									<td class="n">{number(k.moisture_pct, 1)}</td>
									<td>{k.destination ?? '–'}</td>
								</tr>
							))}
						</tbody>
					</table>
				)
			}
		/>
	);
}

export function Cart({ s }: { s: Scene }) {
	const { result, evidence, field } = s.facts;
	const r = result.reference;
	const loads = evidence?.reference.loads ?? [];
	const used = loads.filter((l) => l.cart_kg > 0 && l.ticket_kg > 0);
	if (r.source === 'none') return <Link id="cart" name={t.cart} tone="warn" verdict={t.noCart} />;
	if (r.source === 'tickets' && !(result.totals.cart_kg > 0) && result.dumps.length === 0) {
		return <Link id="cart" name={t.cart} verdict={t.cartNotUsed} />;
	}
	const off = 100 * (1 / r.ratio - 1);
	const verdict =
		r.source === 'limit'
			? t.cartUnchecked(number(100 * Math.max(r.ratio - r.interval[0], r.interval[1] - r.ratio), 1))
			: r.interval[0] <= 1 && r.interval[1] >= 1
				? t.cartTrue(r.n)
				: t.cartOff(number(Math.abs(off), 1), off > 0, r.n);
	return (
		<Link
			id="cart"
			name={t.cart}
			tone={r.source === 'limit' || r.n < 3 ? 'warn' : undefined}
			verdict={verdict}
			figure={{ value: number(r.ratio, 4), interval: interval(r.interval, 4) }}
			tableName={t.loadTable}
			table={
				loads.length > 0 && (
					<table>
						<thead>
							<tr>
								<th scope="col">{t.truckLoad}</th>
								<th scope="col" class="n">
									{t.byCart}
								</th>
								<th scope="col" class="n">
									{t.byTicket}
								</th>
								<th scope="col" class="n">
									{t.ratio}
								</th>
								<th scope="col">{t.use}</th>
							</tr>
						</thead>
						<tbody>
							{loads.map((l) => (
								<tr key={l.truckLoad}>
									<td>{l.truckLoad}</td>
									<td class="n">{quantity(l.cart_kg, 'mass', field.crop)}</td>
									<td class="n">{l.ticket_kg > 0 ? quantity(l.ticket_kg, 'mass', field.crop) : '–'}</td>
									<td class="n">{l.ticket_kg > 0 && l.cart_kg > 0 ? number(l.ticket_kg / l.cart_kg, 4) : '–'}</td>
									<td>{l.used ? t.used : (l.reason ?? t.aside)}</td>
								</tr>
							))}
						</tbody>
					</table>
				)
			}
		>
			{used.length > 0 && (
				<PlotBox
					label={t.cartPlot}
					on={s}
					options={(P) => ({
						height: 64,
						marginLeft: 12,
						marginRight: 12,
						marginBottom: 24,
						x: { ticks: 5, tickFormat: (v: number) => `${signed(v, 1)} %`, label: null, nice: true },
						y: { axis: null },
						marks: [
							P.ruleX([0], { stroke: token('--edge'), strokeDasharray: '2,2' }),
							P.rectX([0], {
								x1: 100 * (r.interval[0] - 1),
								x2: 100 * (r.interval[1] - 1),
								fill: token('--accent'),
								fillOpacity: 0.18,
							}),
							P.ruleX([100 * (r.ratio - 1)], { stroke: token('--accent'), strokeWidth: 2 }),
							P.dot(
								used,
								P.dodgeY({
									x: (l: (typeof used)[number]) => 100 * (l.ticket_kg / l.cart_kg - 1),
									r: 4,
									fill: (l: (typeof used)[number]) => (l.used ? token('--ink') : 'none'),
									stroke: token('--ink'),
								}),
							),
						],
					})}
				/>
			)}
		</Link>
	);
}
