/** The check of the last dump: its error, the error so far with its interval, one line of advice, and its combine. */
import {
	carriedOver,
	doubts,
	find,
	oddities,
	type RunningFactor,
	type Thing,
	withCarried,
} from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { number } from '../../state/format.ts';
import { lacksReading, latestDumps, netOf } from '../model/acts.ts';
import { adviceOn, adviceWords, tolerance } from '../model/advice.ts';
import { opened } from '../model/route.ts';
import { allCombines, book, bookOfFigures, factors, field, now_s, pairs } from '../model/state.ts';
import { combineNames, mass, nameOfThing, pct, range, t, when } from '../model/words.ts';
import { Band } from '../ui/band.tsx';
import { Care, Cautions, Pair } from '../ui/parts.tsx';
import { asking, askMonitor, latestHere, overlay } from './desk.ts';

export function Check() {
	const d = find(book.value, 'dump', latestHere()) ?? latestDumps(book.value, field.value!.id, 1)[0] ?? null;
	const name = field.value!.v.name;
	if (!d)
		return (
			<section class="answer empty" aria-label={t.answerOf(name)}>
				<p class="soft">{t.answerComes}</p>
				<p>{t.standStill}</p>
				{allCombines.value.map((c) => (
					<CarriedOver key={c.id} combine={c.id} here={null} />
				))}
			</section>
		);
	const lacks = lacksReading(book.value, d);
	const of = factors.value.filter((f) => d.v.combines.includes(f.combine));
	const pair = pairs.value.find((p) => d.v.combines.includes(p.first) || d.v.combines.includes(p.second));
	return (
		<section class="answer" aria-label={t.answerOf(name)}>
			<header>
				<button type="button" class="plain row-name" onClick={() => (opened.value = d.id)}>
					<b>{d.v.number}</b> {combineNames(d.v.combines)} · {mass(netOf(book.value, d.id))} · {when(d.v.time_s)}
				</button>
				{lacks !== null && asking.value === null && (
					<Button class="ask" onClick={() => askMonitor(d.id, lacks)} text={t.keyMonitor(nameOfThing(lacks))} />
				)}
			</header>
			{oddities(book.value, d.id).map((o) => (
				<Care key={o} bad>
					{t.odd[o]}
				</Care>
			))}
			{of.map((f) => (
				<One key={f.combine} factor={f} dump={d} />
			))}
			<Cautions />
			{pair && (
				<p class="pair">
					<Pair pair={pair} />
				</p>
			)}
		</section>
	);
}

function One(props: { factor: RunningFactor; dump: Thing<'dump'> }) {
	const { factor: f, dump } = props;
	const point = f.points.find((p) => p.dumps.includes(dump.id));
	const { text, tone } = adviceWords(adviceOn(f, dump.id), f.combine);
	const others = doubts(f, tolerance()).filter((d) => !d.dumps.includes(dump.id));
	return (
		<div class="one">
			<div class="errors">
				{point && (
					<span class="this">
						<b>{pct(point.error_pct)}</b> {t.thisLoad}
					</span>
				)}
				{f.error_pct !== null && (
					<span>
						<b>{pct(f.error_pct)}</b> {t.soFar(f.n)}
						{f.errorInterval_pct && <span class="soft"> {t.interval95(range(f.errorInterval_pct))}</span>}
					</span>
				)}
			</div>
			<p class={`line ${tone}`}>{text}</p>
			{f.n < 4 && <CarriedOver combine={f.combine} here={f} />}
			{others.map((d) => (
				<Button
					key={d.dumps.join()}
					class="plain bad"
					onClick={() => (opened.value = d.dumps.at(-1)!)}
					text={t.otherDoubt(d.dumps.map(nameOfThing).join(' + '), pct(d.error_pct))}
				/>
			))}
			{f.n > 0 && <Band factor={f} />}
		</div>
	);
}

/** This combine's error on the last field, how old it is, and what has changed since. */
export function CarriedOver(props: { combine: string; here: RunningFactor | null }) {
	const now = bookOfFigures.value;
	const c = carriedOver(now, props.combine, field.value!.id);
	if (!c) return null;
	const there = find(now, 'field', c.field)!;
	const both = props.here ? withCarried(now, c, field.value!.id) : null;
	return (
		<p class="carried">
			<b>{nameOfThing(c.combine)}</b> {t.carried.title(there.v.name, t.ago((now_s() - c.at_s) / 3600))}
			{!c.recalibrated && `: ${t.carried.text(pct(c.error_pct), range(c.interval_pct), c.n)}.`}{' '}
			{c.recalibrated && <span class="warn">{t.carried.recalibrated}</span>}{' '}
			{c.otherCrop !== null && <span class="warn">{t.carried.crop(c.otherCrop)}</span>}{' '}
			{c.moisture_points !== null && (
				<span class="warn">{t.carried.moisture(number(Math.abs(c.moisture_points), 1), c.moisture_points > 0)}</span>
			)}{' '}
			{both && `${t.carried.withIt(pct(both.error_pct), range(both.interval_pct))}.`}
		</p>
	);
}

export function Recent() {
	const rows = latestDumps(book.value, field.value!.id, 6);
	if (rows.length === 0) return null;
	return (
		<section class="recent" aria-label={t.recent}>
			<ul>
				{rows.map((d) => {
					const lacks = lacksReading(book.value, d);
					return (
						<li key={d.id}>
							<button type="button" class="line-button" onClick={() => (opened.value = d.id)}>
								<span>{d.v.number}</span>
								<span class="who">{combineNames(d.v.combines)}</span>
								<span class="n">{mass(netOf(book.value, d.id))}</span>
								<span class="soft">{when(d.v.time_s)}</span>
							</button>
							{lacks !== null && <Button onClick={() => askMonitor(d.id, lacks)} text={t.addMonitor} />}
						</li>
					);
				})}
			</ul>
			<Button class="plain" onClick={() => (overlay.value = 'acts')} text={t.lastActs} />
		</section>
	);
}
