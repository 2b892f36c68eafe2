/** Cart, combines, trucks, destinations, the live scale, and the look of the page: set once per season. */
import { signal } from '@preact/signals';
import { type Kind, kept, lineReader, type MonitorSetup, thingsOf } from '../../../lib/book/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { number } from '../../state/format.ts';
import { show, theme, units } from '../../state/settings.ts';
import { editThing, putThing, restoreThing, usualMonitor } from '../model/acts.ts';
import { connect, disconnect, hasSerial, live } from '../model/live.ts';
import { opened } from '../model/route.ts';
import { shownValue } from '../model/shapes.ts';
import { book, device, set } from '../model/state.ts';
import { mass, massNumber, massUnit, t } from '../model/words.ts';
import { Box, Care, Menu, Pick } from '../ui/parts.tsx';
import { MonitorChoices } from '../ui/sheets.tsx';

const LISTS = ['combine', 'truck', 'destination', 'cart'] as const;
type Listed = (typeof LISTS)[number];
const adding = signal<{ kind: Listed; name: string; monitor: MonitorSetup } | null>(null);

export function SetupPage() {
	return (
		<div class="page">
			<h2>{t.setupTitle}</h2>
			<section class="card looks">
				<Pick
					label={t.theme}
					options={[
						['light', t.light],
						['sun', t.sun],
						['dark', t.dark],
					]}
					value={theme.value}
					choose={(v) => (theme.value = v)}
				/>
				<Pick
					label={t.units}
					options={[
						['us', t.pounds],
						['metric', t.kilograms],
					]}
					value={units.value}
					choose={(v) => (units.value = v)}
				/>
				<Box label={t.tabletName} value={device.value.name} set={(v) => v.trim() !== '' && set('name', v.trim())} />
				<Button onClick={() => show('map')} text={t.toMap} />
			</section>
			{LISTS.map((kind) => (
				<List key={kind} kind={kind} />
			))}
			<LiveCard />
		</div>
	);
}

function List(props: { kind: Listed }) {
	const { kind } = props;
	const list = kept(book.value, kind as Kind) as { id: string; v: { name: string; away?: boolean } }[];
	const struck = [...thingsOf(book.value, kind).values()].filter((x) => x.struck);
	const comesAndGoes = kind === 'combine' || kind === 'truck';
	return (
		<section class="card" aria-label={t.lists[kind]}>
			<h3>{t.lists[kind]}</h3>
			<ul class="things">
				{list.map((x) => (
					<li key={x.id}>
						<button type="button" class="line-button" onClick={() => (opened.value = x.id)}>
							<b>{x.v.name}</b>
							<span class="soft">{detail(kind, x.v)}</span>
						</button>
						{comesAndGoes && (
							<Button
								aria-pressed={!x.v.away}
								aria-label={`${x.v.name}: ${t.hereToday}`}
								onClick={() => void editThing(x.id, { away: !x.v.away }, '')}
								text={x.v.away ? t.notHere : t.hereToday}
							/>
						)}
					</li>
				))}
				{struck.map((x) => (
					<li key={x.id}>
						<span class="line-text soft">
							{String(x.values.name ?? '')} ({t.struckOut})
						</span>
						<Button onClick={() => void restoreThing(x.id, '')} text={t.restore} />
					</li>
				))}
			</ul>
			{adding.value?.kind === kind ? (
				<Adding />
			) : (
				<Button onClick={() => (adding.value = { kind, name: '', monitor: usualMonitor() })} text={NEW[kind]} />
			)}
		</section>
	);
}

const NEW = { combine: t.newCombine, truck: t.newTruck, destination: t.newPlace, cart: t.newCart };

function Adding() {
	const a = adding.value!;
	const put = (x: Partial<typeof a>) => (adding.value = { ...a, ...x });
	return (
		<Form
			class="mend"
			submit={async () => {
				const name = a.name.trim();
				adding.value = null;
				await putThing(a.kind, a.kind === 'combine' ? { name, monitor: { ...a.monitor } } : { name });
			}}
		>
			<Box label={t.columns.name!} value={a.name} set={(name) => put({ name })} />
			{a.kind === 'combine' && (
				<fieldset class="box whole">
					<legend>{t.columns.monitor}</legend>
					<MonitorChoices value={a.monitor} set={(monitor) => put({ monitor })} />
				</fieldset>
			)}
			<Button type="submit" class="main" disabled={a.name.trim() === ''} text={t.add} />
		</Form>
	);
}

function detail(kind: string, v: object): string {
	const x = v as {
		room_kg?: number | null;
		size_kg?: number | null;
		limit_pct?: number | null;
		shrink_pct_per_point?: number | null;
		monitor?: MonitorSetup | null;
	};
	if (kind === 'combine') return x.monitor ? shownValue('monitor', { ...x.monitor }) : '';
	if (kind === 'truck' && x.room_kg) return mass(x.room_kg);
	if (kind === 'cart') return x.limit_pct == null ? t.neverChecked : `±${number(x.limit_pct, 1)}%`;
	if (kind === 'destination' && x.shrink_pct_per_point) return t.perPoint(number(x.shrink_pct_per_point, 1));
	return '';
}

/** The scale's cable: only in browsers that can read one. */
function LiveCard() {
	const line = device.value.line;
	const put = (x: Partial<typeof line>) => set('line', { ...line, ...x });
	let fault: string | null = null;
	try {
		lineReader({ ...line, stable: line.stable.split(' '), moving: line.moving.split(' ') });
	} catch (e) {
		fault = String((e as Error).message);
	}
	const l = live.value;
	return (
		<section class="card" aria-label={t.liveTitle}>
			<h3>{t.liveTitle}</h3>
			{!hasSerial() ? (
				<p class="soft">{t.noSerial}</p>
			) : (
				<>
					<p class="soft">{t.liveText}</p>
					<div class="mend mapping">
						<Box label={t.linePattern} value={line.pattern} set={(pattern) => put({ pattern })} />
						<Box label={t.stableMarks} value={line.stable} set={(stable) => put({ stable })} />
						<Box label={t.movingMarks} value={line.moving} set={(moving) => put({ moving })} />
						<Menu
							label={t.columns.unit!}
							value={line.unit}
							options={['lb', 'kg', 't'].map((u) => [u, u] as const)}
							set={(u) => put({ unit: u as typeof line.unit })}
						/>
						<Menu
							label={t.baud}
							value={String(line.baud)}
							options={[1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200].map(
								(b) => [String(b), String(b)] as const,
							)}
							set={(b) => put({ baud: Number(b) })}
						/>
					</div>
					{fault && <Care bad>{fault}</Care>}
					<div class="buttons">
						{l.state === 'reading' ? (
							<Button onClick={() => void disconnect()} text={t.disconnect} />
						) : (
							<Button class="main" disabled={fault !== null} onClick={() => void connect()} text={t.connect} />
						)}
						{l.state === 'reading' && (
							<span class="live">
								{l.kg === null ? t.noLineYet : `${massNumber(l.kg)} ${massUnit()} ${l.still ? t.still : t.moving}`}
							</span>
						)}
					</div>
					{l.state === 'lost' && <Care>{l.why ?? t.cableLost}</Care>}
					{l.strange !== null && <Care>{t.strangeLine(l.strange)}</Care>}
				</>
			)}
		</section>
	);
}
