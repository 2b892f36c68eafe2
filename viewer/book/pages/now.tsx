/** What the operator looks at all day: the cart, the truck, the pad, and the answer to the last dump. */
import { signal } from '@preact/signals';
import { doubts, find, type Kept, oddities, type RunningFactor } from '../../../lib/book/index.ts';
import { dumpsOf, lacksReading, netOf, putDump, putOffload, putReading, putZero, undoLast } from '../model/acts.ts';
import { adviceOn, adviceWords, tolerance } from '../model/advice.ts';
import { live } from '../model/live.ts';
import { go, opened } from '../model/route.ts';
import {
	book,
	cart,
	combines,
	device,
	factors,
	field,
	grain,
	level_kg,
	load,
	pairs,
	past,
	room_kg,
	saving,
	truck,
} from '../model/state.ts';
import {
	combineNames,
	keyed,
	mass,
	massNumber,
	massUnit,
	nameOfThing,
	pct,
	range,
	t,
	toKg,
	truckLabel,
	when,
} from '../model/words.ts';
import { Band } from '../ui/band.tsx';
import { Pad } from '../ui/pad.tsx';
import { Care, Pair } from '../ui/parts.tsx';
import { DumpMore, MonitorHow, TruckSheet } from '../ui/sheets.tsx';

const digits = signal('');
const emptied = signal<'yes' | 'no' | null>(null);
/** The dump and combine whose monitor the pad now asks for. */
const asking = signal<{ dump: string; combine: string } | null>(null);
/** The dump just put down: its answer is shown until the next. */
const latest = signal<string | null>(null);
const overlay = signal<'truck' | 'more' | 'how' | null>(null);
export const extras = signal<{ moisture_pct: number | null; testWeight_kg_hl: number | null; note: string | null }>({
	moisture_pct: null,
	testWeight_kg_hl: null,
	note: null,
});

/** The weight that a tap would take: keyed, or the live one when it stands still. */
function weight(): { kg: number; live: boolean } | null {
	if (digits.value === '') return live.value.still && live.value.kg !== null ? { kg: live.value.kg, live: true } : null;
	const n = keyed(digits.value);
	return n === null ? null : { kg: toKg(n), live: false };
}

/**
 * Clears the display at once, so that the next number can be keyed while this one is written; should the writing
 * fail, what was keyed is given back.
 */
async function givingBack(act: () => Promise<unknown>): Promise<void> {
	const before = digits.value;
	digits.value = '';
	try {
		await act();
	} catch {
		// Why it failed stands in the strip.
		if (digits.value === '') digits.value = before;
	}
}

const runningScale = () => device.value.scaleShows === 'running';

export function Now() {
	if (!field.value || !cart.value) return <NoField />;
	return (
		<div class="now">
			<div class="read">
				<Strip />
				<Figures />
				<Answer />
				<Recent />
			</div>
			<Entry />
			{overlay.value === 'truck' && <TruckSheet close={() => (overlay.value = null)} />}
			{overlay.value === 'more' && (
				<DumpMore
					extras={extras}
					shows_kg={weight()?.kg ?? null}
					zeroed={zeroed}
					close={() => (overlay.value = null)}
				/>
			)}
			{overlay.value === 'how' && <MonitorHow close={() => (overlay.value = null)} />}
		</div>
	);
}

/** The scale was zeroed, or shows another weight than the book has: what it shows is taken as it stands. */
async function zeroed(kg: number): Promise<void> {
	overlay.value = null;
	await givingBack(() => putZero(kg));
}

function NoField() {
	return (
		<div class="welcome">
			<h2>{t.welcome}</h2>
			<p>{t.welcomeText}</p>
			<button type="button" class="main large" onClick={() => go('fields')}>
				{t.startField}
			</button>
		</div>
	);
}

function Strip() {
	const f = field.value!;
	const s = saving.value;
	return (
		<div class="strip">
			<button type="button" class="where" onClick={() => go('fields')}>
				<b>{f.v.name}</b>
				<span class="soft">{typeof f.v.crop === 'string' ? f.v.crop : f.v.crop.name}</span>
			</button>
			<span
				class={s.state === 'failed' ? 'saved bad' : 'saved'}
				role="status"
				aria-live="polite"
				data-entries={book.value.entries.length}
			>
				{s.state === 'saved'
					? t.saved
					: s.state === 'saving'
						? t.savingNow
						: s.state === 'failed'
							? t.notSaved(s.why)
							: ''}
			</span>
			{live.value.state === 'reading' && (
				<span class={live.value.still ? 'live still' : 'live'}>
					{massNumber(live.value.kg)} {massUnit()} {live.value.still ? t.still : t.moving}
				</span>
			)}
		</div>
	);
}

function Figures() {
	const size = cart.value!.v.size_kg;
	const room = room_kg.value;
	const where = load.value ? load.value.v.destination : device.value.destination;
	return (
		<div class="figures">
			<div class="figure">
				<span class="name">{t.inCart}</span>
				<output class="huge">
					{massNumber(level_kg.value)} <small>{massUnit()}</small>
				</output>
				{size !== null && <Gauge share={level_kg.value / size} />}
			</div>
			<button type="button" class="figure press" onClick={() => (overlay.value = 'truck')}>
				<span class="name">
					{!truck.value ? t.noTruck : room === null ? t.onTruck(truck.value.v.name) : t.truckTakes(truck.value.v.name)}
				</span>
				<span class="huge">
					{room === null ? (
						<>
							{massNumber(onTruck_kg())} <small>{massUnit()}</small>
						</>
					) : (
						<>
							{massNumber(room)} <small>{massUnit()}</small>
						</>
					)}
				</span>
				<span class="name">
					{load.value ? truckLabel(load.value.id) : t.nextLoad}
					{where !== null && ` → ${nameOfThing(where)}`}
				</span>
			</button>
		</div>
	);
}

/** What the carts have put on the truck beside them. */
function onTruck_kg(): number {
	return load.value ? (grain.value.loads.get(load.value.id)?.cart_kg ?? 0) : 0;
}

function Gauge(props: { share: number }) {
	const share = Math.max(0, Math.min(1, props.share));
	return (
		<svg
			class={props.share > 1 ? 'gauge over' : 'gauge'}
			viewBox="0 0 100 6"
			preserveAspectRatio="none"
			aria-hidden="true"
		>
			<rect class="whole" width="100" height="6" />
			<rect class="part" width={100 * share} height="6" />
		</svg>
	);
}

/** The pad and what it is for just now: the scale, or a monitor. */
function Entry() {
	return asking.value ? <MonitorEntry ask={asking.value} /> : <ScaleEntry />;
}

const TANK: Record<string, string> = { null: t.tankAsk, yes: t.tankEmpty, no: t.tankNotEmpty };

function ScaleEntry() {
	const w = weight();
	const running = runningScale();
	const net_kg = w === null ? null : running ? w.kg - level_kg.value : w.kg;
	const takeKeyed = () => (running ? { reading_kg: w!.kg } : { net_kg: w!.kg });
	const dump = async (ids: string[]) => {
		const taken = takeKeyed();
		const more = { emptied: emptied.value, ...extras.value };
		// Never carried over: what was said of one tank says nothing of the next.
		emptied.value = null;
		extras.value = { moisture_pct: null, testWeight_kg_hl: null, note: null };
		await givingBack(async () => {
			latest.value = await putDump(ids, taken, more);
		});
	};
	const offload = async () => {
		const taken = w === null ? { net_kg: level_kg.value } : takeKeyed();
		await givingBack(() => putOffload(taken));
	};
	const ids = combines.value.map((c) => c.id);
	const several = ids.length === 2 ? [ids] : [];
	const more =
		extras.value.moisture_pct !== null || extras.value.testWeight_kg_hl !== null || extras.value.note !== null;
	return (
		<section class="entry" aria-label={t.scale}>
			<div class="display">
				<span class="name asked-plain">{running ? t.scaleReads : t.netWeight}</span>
				<output
					class={digits.value === '' ? 'digits idle' : 'digits'}
					aria-label={running ? t.scaleReads : t.netWeight}
				>
					{digits.value === ''
						? w?.live
							? massNumber(w.kg)
							: massNumber(running ? level_kg.value : 0)
						: grouped(digits.value)}
					<small>{massUnit()}</small>
				</output>
				<span class={net_kg !== null && net_kg < 0 ? 'net warn' : 'net'}>
					{w === null || !running ? ' ' : net_kg! >= 0 ? t.netIn(mass(net_kg)) : t.netOut(mass(-net_kg!))}
				</span>
			</div>
			<Pad value={digits} />
			<div class="taps">
				<div class="dumps">
					{ids.map((id) => (
						<button key={id} type="button" class="main dump" disabled={w === null} onClick={() => dump([id])}>
							{nameOfThing(id)}
						</button>
					))}
					{several.map((both) => (
						<button key="both" type="button" class="main dump" disabled={w === null} onClick={() => dump(both)}>
							{both.map(nameOfThing).join(' + ')}
						</button>
					))}
				</div>
				<div class="others">
					<button type="button" class="tall" disabled={w === null && level_kg.value <= 0} onClick={offload}>
						{w === null ? t.allToTruck : t.toTruck}
					</button>
					<button
						type="button"
						aria-label={t.tankLabel(TANK[String(emptied.value)]!)}
						aria-pressed={emptied.value !== null}
						onClick={() => (emptied.value = emptied.value === null ? 'yes' : emptied.value === 'yes' ? 'no' : null)}
					>
						{TANK[String(emptied.value)]}
					</button>
					<button type="button" aria-pressed={more} onClick={() => (overlay.value = 'more')}>
						{t.more}
					</button>
					<button type="button" disabled={past.value.length === 0} onClick={() => void undoLast()}>
						{t.undo}
					</button>
				</div>
			</div>
		</section>
	);
}

function MonitorEntry(props: { ask: { dump: string; combine: string } }) {
	const { dump, combine } = props.ask;
	const m = device.value.monitor;
	const d = find(book.value, 'dump', dump)!;
	const n = keyed(digits.value);
	const save = async () => {
		const reading = { combine, dump, ...m, value: n!, moisture_pct: keyed(moistureText.value) };
		await givingBack(async () => {
			await putReading(reading);
			moistureText.value = '';
			const rest = lacksReading(book.value, find(book.value, 'dump', dump)!);
			asking.value = rest === null ? null : { dump, combine: rest };
		});
	};
	return (
		<section class="entry" aria-label={t.monitor}>
			<div class="display">
				<div class="asked">
					<span class="name">{t.monitorShowed(nameOfThing(combine), d.v.number)}</span>
					<button type="button" class="plain" onClick={() => (overlay.value = 'how')}>
						{t.monitorAs(m.how === 'load' ? t.aLoad : t.aTotal, m.unit, m.basis === 'wet' ? t.wet : t.dry)}
					</button>
				</div>
				<output class="digits" aria-label={t.monitor}>
					{digits.value === '' ? '0' : grouped(digits.value)}
					<small>{m.unit}</small>
				</output>
				<span class="net">{t.weighed(mass(netOf(book.value, dump)))}</span>
			</div>
			<Pad value={digits} />
			<div class="taps">
				<label class="box inline">
					<span>{t.monitorMoisture}</span>
					<span class="written">
						<input
							inputMode="decimal"
							value={moistureText.value}
							onInput={(e) => (moistureText.value = e.currentTarget.value)}
						/>
						<span class="unit">%</span>
					</span>
				</label>
				<div class="dumps">
					<button type="button" class="main dump" disabled={n === null} onClick={save}>
						{t.saveMonitor}
					</button>
					<button
						type="button"
						class="dump"
						onClick={() => {
							digits.value = '';
							asking.value = null;
						}}
					>
						{t.later}
					</button>
				</div>
			</div>
		</section>
	);
}

const moistureText = signal('');
/** 27140 as 27,140 while it is keyed. */
function grouped(text: string): string {
	const [whole, part] = text.split('.');
	const n = massGroup(Number(whole));
	return part === undefined ? n : `${n}.${part}`;
}

const massGroup = (n: number) => new Intl.NumberFormat(navigator.language).format(n);

/** The answer to the last dump: its error, the band, one line. */
function Answer() {
	const d = find(book.value, 'dump', latest.value) ?? dumpsOf(book.value, field.value!.id)[0] ?? null;
	if (!d || d.thing.struck)
		return (
			<section class="answer empty">
				<p class="soft">{t.answerComes}</p>
				<p>{t.standStill}</p>
			</section>
		);
	const lacks = lacksReading(book.value, d);
	const odd = oddities(book.value, d.id);
	const of = factors.value.filter((f) => d.v.combines.includes(f.combine));
	return (
		<section class="answer" aria-label={t.answer}>
			<header>
				<button type="button" class="plain row-name" onClick={() => (opened.value = d.id)}>
					<b>{d.v.number}</b> {combineNames(d.v.combines)} · {mass(netOf(book.value, d.id))} · {when(d.v.time_s)}
				</button>
				{lacks !== null && asking.value === null && (
					<button
						type="button"
						class="ask"
						onClick={() => {
							digits.value = '';
							asking.value = { dump: d.id, combine: lacks };
						}}
					>
						{t.keyMonitor(nameOfThing(lacks))}
					</button>
				)}
			</header>
			{odd.map((o) => (
				<Care key={o} bad>
					{t.odd[o]}
				</Care>
			))}
			{of.map((f) => (
				<One key={f.combine} factor={f} dump={d} />
			))}
			{pairs.value.slice(0, 1).map((p) => (
				<p key={p.first + p.second} class="pair">
					<Pair pair={p} />
				</p>
			))}
		</section>
	);
}

function One(props: { factor: RunningFactor; dump: Kept<'dump'> }) {
	const { factor: f, dump } = props;
	const point = f.points.find((p) => p.dumps.includes(dump.id));
	const { text, tone } = adviceWords(adviceOn(f, dump.id), f.combine);
	const colour = combines.value.findIndex((c) => c.id === f.combine);
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
						{f.errorInterval_pct && <span class="soft"> {range(f.errorInterval_pct)} %</span>}
					</span>
				)}
			</div>
			<p class={`line ${tone}`}>{text}</p>
			{others.map((d) => (
				<button key={d.dumps.join()} type="button" class="plain bad" onClick={() => (opened.value = d.dumps.at(-1)!)}>
					{t.otherDoubt(d.dumps.map(nameOfThing).join(' + '), pct(d.error_pct))}
				</button>
			))}
			{f.n > 0 && (
				<Band
					factor={f}
					tolerance_pct={tolerance()}
					colour={colour}
					label={t.bandLabel(nameOfThing(f.combine), f.n, pct(f.error_pct), range(f.errorInterval_pct))}
				/>
			)}
		</div>
	);
}

function Recent() {
	const rows = dumpsOf(book.value, field.value!.id).slice(0, 6);
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
							{lacks !== null && (
								<button
									type="button"
									onClick={() => {
										digits.value = '';
										asking.value = { dump: d.id, combine: lacks };
									}}
								>
									{t.addMonitor}
								</button>
							)}
						</li>
					);
				})}
			</ul>
		</section>
	);
}
