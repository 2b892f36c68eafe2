/** Third step: every dump compared with its combine's monitor weight. */
import type { ResultDump, Scene } from '../../../lib/model/index.ts';
import { chartSentences, dumpsSentence, FieldClock, secondsOf, tankLoad } from '../../../lib/units/index.ts';
import { hold, lights, litOfDump, shining } from '../../state/field.ts';
import { errorOfFactor_pct, own, quantity, signed } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { Clock } from '../work/clock.tsx';
import { OverrideDump } from '../work/override-dump.tsx';
import { CombineName, Link, LitRow } from './link.tsx';
import { PlotBox, room } from './plot.tsx';
import { shines } from './shine.ts';

const t = strings.evidence;

/** The error of a dump; also for one not used if its fill is known, so that it can be judged in the plot. */
export function errorOf(s: Scene, index: number): number {
	const d = s.facts.result.dumps[index]!;
	if (d.error_pct !== null) return d.error_pct;
	const { evidence } = s.facts;
	if (d.status !== 'aside' || !evidence) return Number.NaN;
	const fate = evidence.fates[index];
	let account = 0;
	for (const u of fate?.unloadings ?? []) account += evidence.unloadings[u]?.account_kg ?? Number.NaN;
	const reference = d.reference_kg ?? d.cart_kg * s.facts.result.reference.ratio;
	return account > 0 && reference > 0 ? 100 * (account / reference - 1) : Number.NaN;
}

export function Dumps({ s }: { s: Scene }) {
	const { result, field, combines } = s.facts;
	const { dumps } = result;
	const aside = dumps.filter((d) => d.status === 'aside');
	if (dumps.length === 0) return <Link id="dumps" name={t.dumps} tone="warn" verdict={t.noDumps} />;
	const dots = dumps
		.map((d, i) => ({ d, order: i + 1, error: errorOf(s, i), combine: combines.indexOf(d.combine ?? '') }))
		.filter((p) => Number.isFinite(p.error));
	const color = (c: number) => token(c < 0 ? '--soft' : `--c${c % 6}`);
	return (
		<Link
			id="dumps"
			name={t.dumps}
			tone={aside.length > 0 ? 'warn' : undefined}
			verdict={dumpsSentence(result)}
			figure={{ value: quantity(result.totals.cart_kg, 'mass', field.crop), interval: t.cartWeight }}
			tableName={t.dumpTable}
			table={<Table s={s} />}
		>
			{aside.length > 0 && (
				<ul class="distrust">
					{aside.map((d) => (
						<Distrusted key={d.id} d={d} s={s} />
					))}
				</ul>
			)}
			{dots.length > 0 && (
				<PlotBox
					label={t.dumpPlot}
					on={s}
					dots={dots.map((p) => litOfDump(p.d))}
					options={(P) => ({
						height: 150,
						marginLeft: 48,
						marginRight: room(combines) - 4,
						marginBottom: 20,
						x: { axis: null, domain: [0.4, dumps.length + 0.6] },
						y: { label: null, ticks: 5, tickFormat: (v: number) => `${signed(v, 0)}%`, grid: true, nice: true },
						marks: [
							...combines.flatMap((name, c) => {
								const f = result.combines[name]?.factor;
								if (!f) return [];
								return [
									P.rectY([0], {
										y1: errorOfFactor_pct(f.next_interval[0]),
										y2: errorOfFactor_pct(f.next_interval[1]),
										fill: color(c),
										fillOpacity: 0.1,
									}),
									P.ruleY([errorOfFactor_pct(f.value)], { stroke: color(c), strokeWidth: 1.5 }),
									P.text([0], {
										x: dumps.length + 0.6,
										y: errorOfFactor_pct(f.value),
										text: [name],
										textAnchor: 'start',
										dx: 5,
										fill: color(c),
										fontWeight: 600,
									}),
								];
							}),
							P.dot(dots, {
								x: 'order',
								y: 'error',
								r: 4.5,
								fill: (p) => (p.d.status === 'used' ? color(p.combine) : token('--sheet')),
								stroke: (p) => (p.d.status === 'aside' ? token('--bad') : color(p.combine)),
								strokeWidth: 2,
								className: 'dots',
							}),
							P.text(
								dots.filter((p) => p.d.status === 'aside'),
								{ x: 'order', y: 'error', text: (p) => p.d.id, dy: -11, fill: token('--bad'), fontWeight: 600 },
							),
						],
					})}
				/>
			)}
			<p class="small soft">{[t.dumpKey, ...chartSentences(result)].join(' ')}</p>
			<Clock s={s} />
			<OverrideDump s={s} />
		</Link>
	);
}

function Distrusted({ d, s }: { d: ResultDump; s: Scene }) {
	const what = litOfDump(d);
	return (
		<li class={shines(what, shining.value, s) ? 'lit' : ''}>
			<button type="button" class="plain" {...lights(what)} onClick={() => hold(what)}>
				{d.id}
			</button>{' '}
			{own(d.reason ?? '')}
		</li>
	);
}

function Table({ s }: { s: Scene }) {
	const { result, field, combines } = s.facts;
	const clock = new FieldClock(field.timeZone);
	const days = clock.days(result.dumps.map((d) => secondsOf(d.end)));
	// Show the day as well where the field took more than one.
	const when = (iso: string | null) =>
		days.includes(' to ') ? clock.dayAndMinute(secondsOf(iso)) : clock.minute(secondsOf(iso));
	return (
		<table>
			<Heads
				of={[
					t.dump,
					t.combine,
					{ n: t.error },
					t.end,
					strings.map.fill,
					{ n: t.byCart },
					{ n: t.reference },
					{ n: t.monitor },
					t.status,
				]}
			/>
			<tbody>
				{result.dumps.map((d, i) => (
					// Two rows of a cart log may have the same id.
					<LitRow key={`${d.id}/${i}`} what={litOfDump(d)} name={d.id} class={d.status === 'aside' ? 'aside' : ''}>
						<td>
							{d.combine === null ? '–' : <CombineName combine={combines.indexOf(d.combine)} name={d.combine} />}
							{d.combine_source === 'inferred' && <span class="soft"> {t.inferred}</span>}
						</td>
						<td class="n">{d.error_pct === null ? '–' : `${signed(d.error_pct, 1)}%`}</td>
						<td class="n">{when(d.end)}</td>
						<td>{tankLoad(d.fill, combines)}</td>
						<td class="n">{quantity(d.cart_kg, 'mass', field.crop)}</td>
						<td class="n">{quantity(d.reference_kg, 'mass', field.crop)}</td>
						<td class="n">{quantity(d.monitor_kg, 'mass', field.crop)}</td>
						<td>
							{t.statuses[d.status]}
							{d.reason && <span class="soft">: {own(d.reason)}</span>}
						</td>
					</LitRow>
				))}
				{result.unweighed.map((u) => (
					<tr key={`${u.combine}${u.end}`}>
						<th scope="row">–</th>
						<td>
							<CombineName combine={combines.indexOf(u.combine)} name={u.combine} />
						</td>
						<td class="n">–</td>
						<td class="n">{when(u.end)}</td>
						<td>–</td>
						<td class="n">–</td>
						<td class="n">{u.deduced_kg === undefined ? '–' : `(${quantity(u.deduced_kg, 'mass', field.crop)})`}</td>
						<td class="n">{quantity(u.monitor_kg, 'mass', field.crop)}</td>
						<td>
							{t.unweighed}
							<span class="soft">: {own(u.reason)}</span>
						</td>
					</tr>
				))}
			</tbody>
		</table>
	);
}
