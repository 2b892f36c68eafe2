/** First two steps: the certified scale, and the cart compared with it. */
import type { ReferenceLoad, Scene } from '../../../lib/model/index.ts';
import { cartSentence, massInBoth, outstanding } from '../../../lib/units/index.ts';
import { interval, number, numbers, own, quantity, signed } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { Link } from './link.tsx';
import { PlotBox } from './plot.tsx';

const t = strings.evidence;

export function Certified({ s }: { s: Scene }) {
	const { result, evidence, field } = s.facts;
	const tickets = evidence?.tickets ?? [];
	const kg = result.totals.ticket_kg;
	const out = outstanding(result.trucks).map((k) => k.truck_load);
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
			verdict={`${evidence ? t.tickets(tickets.length) : t.ticketsSum}${out.length > 0 ? ` ${t.ticketsOut(out.join(', '))}` : ''}`}
			figure={{ value: quantity(kg, 'mass', field.crop) }}
			tableName={t.ticketTable}
			table={
				tickets.length > 0 && (
					<table>
						<Heads of={[t.ticket, t.truckLoad, { n: t.net }, { n: t.moisture }, t.destination]} />
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
	const { result, evidence } = s.facts;
	const r = result.reference;
	if (r.source === 'none') return <Link id="cart" name={t.cart} tone="warn" verdict={t.noCart} />;
	if (r.source === 'tickets' && !(result.totals.cart_kg > 0) && result.dumps.length === 0) {
		return <Link id="cart" name={t.cart} verdict={t.cartNotUsed} />;
	}
	const limit_pct = 100 * (evidence?.reference.limit_rel ?? (r.interval[1] - 1) / 0.95);
	const verdict = cartSentence(result, limit_pct, numbers);
	const { trucks } = result;
	return (
		<Link
			id="cart"
			name={t.cart}
			tone={r.source === 'limit' || r.n < 3 ? 'warn' : undefined}
			verdict={verdict}
			figure={{ value: number(r.ratio, 4), interval: `${t.cartRatio}; ${t.interval95(interval(r.interval, 4))}` }}
			tableName={t.loadTable}
			table={trucks.length > 0 && <LoadTable s={s} />}
		>
			{trucks.map(
				(k) =>
					k.repaired && (
						<p key={k.truck_load} class="small">
							{t.repaired(k.repaired.dump, own(massInBoth(k.repaired.cart_kg)), k.truck_load, k.repaired.used)}
						</p>
					),
			)}
			<RatioPlot s={s} />
		</Link>
	);
}

function LoadTable({ s }: { s: Scene }) {
	const { result, evidence, field } = s.facts;
	const loads = evidence?.reference.loads ?? [];
	const mass = (kg: number | null) => quantity(kg, 'mass', field.crop);
	return (
		<table>
			<Heads
				of={[
					t.truckLoad,
					...[t.offloads, t.dumps, t.difference, t.byTicket, t.ratio].map((head) => ({ n: head })),
					t.remark,
				]}
			/>
			<tbody>
				{result.trucks.map((k) => {
					const load = loads.find((l) => l.truckLoad === k.truck_load);
					const why = load && !load.used && k.ticket_kg !== null ? (load.reason ?? t.aside) : '';
					const plus = k.difference_kg !== null && k.difference_kg > 0 ? '+' : '';
					return (
						<tr key={k.truck_load}>
							<td>{k.truck_load}</td>
							<td class="n">{mass(k.offloads_kg)}</td>
							<td class="n">{mass(k.dumps_kg)}</td>
							<td class="n">
								{plus}
								{mass(k.difference_kg)}
							</td>
							<td class="n">{mass(k.ticket_kg)}</td>
							<td class="n">{k.ticket_kg !== null && k.offloads_kg ? number(k.ticket_kg / k.offloads_kg, 4) : '–'}</td>
							<td>{own([k.remark ?? '', why].filter((x) => x !== '').join('; '))}</td>
						</tr>
					);
				})}
			</tbody>
		</table>
	);
}

/** The tickets against the cart, load by load, and the ratio with its interval. */
function RatioPlot({ s }: { s: Scene }) {
	const r = s.facts.result.reference;
	const loads = (s.facts.evidence?.reference.loads ?? []).filter((l) => l.cart_kg > 0 && l.ticket_kg > 0);
	if (loads.length === 0) return null;
	return (
		<PlotBox
			label={t.cartPlot}
			on={s}
			options={(P) => ({
				height: 64,
				marginLeft: 12,
				marginRight: 12,
				marginBottom: 24,
				x: { ticks: 5, tickFormat: (v: number) => `${signed(v, 1)}%`, label: null, nice: true },
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
						loads,
						P.dodgeY({
							x: (l: ReferenceLoad) => 100 * (l.ticket_kg / l.cart_kg - 1),
							r: 4,
							fill: (l: ReferenceLoad) => (l.used ? token('--ink') : 'none'),
							stroke: token('--ink'),
						}),
					),
				],
			})}
		/>
	);
}
