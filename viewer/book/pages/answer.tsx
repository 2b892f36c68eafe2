/** The full answer: each combine's running error, advice, the loads for calibration, and which combine reads higher. */
import { bookFills, type FillPoint, find, kept, moistureOffsets, type RunningFactor } from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { number } from '../../state/format.ts';
import { Heads } from '../../table.tsx';
import { editThing, putRecalibrated } from '../model/acts.ts';
import { adviceOn, adviceWords, noTickets, tolerance } from '../model/advice.ts';
import { unless } from '../model/asks.ts';
import { go, opened } from '../model/route.ts';
import { allCombines, book, bookOfFigures, carts, factors, field, pairs } from '../model/state.ts';
import { mass, nameOfThing, pct, range, t, when } from '../model/words.ts';
import { CarriedOver } from '../now/check.tsx';
import { Band } from '../ui/band.tsx';
import { Care, Cautions, Numbers, Pair, RowLine, Worked } from '../ui/parts.tsx';
import { TotalNow } from '../ui/readings.tsx';

/** A recalibrated monitor starts over: entered by a tap, shown with its time, voided like any row. */
function Recalibrated(props: { combine: string }) {
	const at = kept(book.value, 'event')
		.filter((e) => e.v.combine === props.combine && e.v.kind === 'calibrated')
		.sort((a, b) => b.v.time_s - a.v.time_s)[0];
	return (
		<div class="buttons">
			<Button
				onClick={() =>
					void unless(t.ask.recalibrated(nameOfThing(props.combine)), t.yesRecalibrated, () =>
						putRecalibrated(props.combine),
					)
				}
				text={t.recalibrate(nameOfThing(props.combine))}
			/>
			{at && <Button class="plain" onClick={() => (opened.value = at.id)} text={t.sinceThen(when(at.v.time_s))} />}
		</div>
	);
}

/** Combines here today, and those that worked on the field. */
const here = (x: RunningFactor): boolean => x.n > 0 || !allCombines.value.find((c) => c.id === x.combine)?.v.away;

export function AnswerPage() {
	const f = field.value;
	if (!f) return <p class="soft">{t.noField}</p>;
	return (
		<div class="page">
			<h2>{t.answerTitle(f.v.name)}</h2>
			<div class="tolerances">
				<span>{t.tolerance}</span>
				{[1, 2, 3, 5].map((x) => (
					<Button
						key={x}
						aria-pressed={tolerance() === x}
						onClick={() => void editThing(f.id, { tolerance_pct: x }, '')}
						text={`±${x}%`}
					/>
				))}
			</div>
			<Cautions />
			<div class="cards">
				{factors.value.filter(here).map((x) => (
					<CombineCard key={x.combine} factor={x} />
				))}
			</div>
			{pairs.value.length > 0 && (
				<section class="card">
					<h3>{t.whoReadsHigher}</h3>
					{pairs.value.map((p) => (
						<p key={p.first + p.second}>
							<Pair pair={p} /> <span class="soft">{t.interval95(range(p.interval_pct))}</span>
						</p>
					))}
					{carts.value.length === 1 && <p class="soft small">{t.scaleCancels}</p>}
				</section>
			)}
			<Offsets />
			<NotCounted field={f.id} />
			{noTickets() !== null && (
				<Care>
					{noTickets()} <Button class="plain" onClick={() => go('tickets')} text={t.toTickets} />
				</Care>
			)}
			<Worked id="error" />
			<Worked id="more" />
		</div>
	);
}

/** One combine: its running error, what to do, and how it narrowed. */
function CombineCard({ factor: x }: { factor: RunningFactor }) {
	const advice = adviceOn(x, null);
	const { text, tone } = adviceWords(advice, x.combine);
	const name = nameOfThing(x.combine);
	// A monitor that changed is judged by what it reads now.
	const now = x.since > 0 ? x.now_pct : x.error_pct;
	const since = x.since > 0 ? nameOfThing(x.points[x.since]!.dumps[0]!) : '';
	const color = allCombines.value.findIndex((c) => c.id === x.combine);
	return (
		<article class="card" aria-label={name}>
			<h3>
				<span class={`mark c${color % 6}`}>{name}</span>
				{now !== null && (
					<span class="big">
						{pct(now)}{' '}
						<small>
							({now > 0 ? t.readsHigh : t.readsLow}
							{since && `, ${t.since(since)}`})
						</small>
					</span>
				)}
			</h3>
			<p class={`line ${tone}`}>{text}</p>
			{x.n > 0 && <Band factor={x} />}
			<Numbers
				of={[
					[t.factor, number(x.value, 4)],
					[t.factorInterval, x.interval ? t.range(number(x.interval[0], 4), number(x.interval[1], 4)) : '–'],
					[t.errorInterval, range(x.errorInterval_pct)],
					[t.nextLoadInterval, range(x.nextError_pct)],
					[t.loadsUsed, x.n],
				]}
			/>
			{x.n < 4 && <CarriedOver combine={x.combine} here={x} />}
			<Recalibrated combine={x.combine} />
			<TotalNow combine={x.combine} />
			{advice.kind === 'key in' && <LoadsToKey loads={advice.loads} />}
		</article>
	);
}

/** The loads to enter in the manufacturer's calibration procedure. */
function LoadsToKey({ loads }: { loads: FillPoint[] }) {
	return (
		<div class="key-in">
			<p>{t.keyTheseIn}</p>
			<table>
				<Heads of={[t.dump, { n: t.monitor }, { n: t.scaleSays }]} />
				<tbody>
					{loads.slice(-6).map((p) => (
						<tr key={p.dumps.join()}>
							<td>{p.dumps.map(nameOfThing).join(' + ')}</td>
							<td class="n">{mass(p.monitor_kg)}</td>
							<td class="n">{mass(p.reference_kg)}</td>
						</tr>
					))}
				</tbody>
			</table>
			<p class="soft small">{t.makersProcedure}</p>
		</div>
	);
}

/** How far each monitor's moisture is from the tickets'. */
function Offsets() {
	const offsets = moistureOffsets(bookOfFigures.value);
	if (offsets.length === 0) return null;
	return (
		<section class="card">
			<h3>{t.moistureOffsets}</h3>
			{offsets.map((o) => (
				<p key={o.combine}>
					{t.offsetIs(nameOfThing(o.combine), pct(o.offset_pct).replace('%', ''), o.n)}{' '}
					{o.interval_pct && <span class="soft">{t.interval95(range(o.interval_pct).replace('%', ''))}</span>}
				</p>
			))}
			<Worked id="offset" />
		</section>
	);
}

/** Dumps of the field that are in no factor, each with its reason. */
function NotCounted({ field: id }: { field: string }) {
	const wrong = new Set(factors.value.flatMap((x) => x.points.flatMap((p) => (p.wrong ? p.dumps : []))));
	const waiting = [
		...bookFills(bookOfFigures.value).waiting.filter((w) => find(book.value, 'dump', w.dump)?.v.field === id),
		...[...wrong].map((dump) => ({ dump, reason: 'wrong' as const })),
	];
	if (waiting.length === 0) return null;
	return (
		<section class="card">
			<h3>{t.waitingTitle}</h3>
			<ul class="waiting">
				{waiting.map((w) => (
					<RowLine key={w.dump} id={w.dump} name={nameOfThing(w.dump)} text={t.waiting[w.reason]} />
				))}
			</ul>
		</section>
	);
}
