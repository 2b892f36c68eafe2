/** Fields of the season: find one and continue, or start one in two taps. */
import { signal } from '@preact/signals';
import { cropKnown, dumpsOn, type MonitorSetup, type Thing, thingsOf } from '../../../lib/book/index.ts';
import { CROPS } from '../../../lib/units/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { editThing, restoreThing, startField, usualMonitor } from '../model/acts.ts';
import { go, opened } from '../model/route.ts';
import { shownValue } from '../model/shapes.ts';
import { allCombines, book, field, fields, set } from '../model/state.ts';
import { cropName, mass, netFieldKg, t, when } from '../model/words.ts';
import { Box, Menu, Pick } from '../ui/parts.tsx';
import { MonitorChoices } from '../ui/sheets.tsx';

const words = signal('');
interface Draft {
	name: string;
	crop: string;
	season: string;
	client: string;
	farm: string;
	/** Initial combines, if the book has none. */
	combines: { name: string; monitor: MonitorSetup }[];
}
const form = signal<Draft | null>(null);

const letters = (n: number) =>
	Array.from({ length: n }, (_, i) => ({
		name: t.combineNumber(String.fromCharCode(65 + i)),
		monitor: usualMonitor(),
	}));

function beginForm(): Draft {
	const before = field.value?.v ?? fields.value.at(-1)?.v ?? null;
	const crop = before === null ? 'corn' : (cropKnown(before)?.name ?? 'corn');
	return {
		name: t.fieldNumber(fields.value.length + 1),
		crop,
		season: String(before?.season ?? new Date().getFullYear()),
		client: before?.client ?? '',
		farm: before?.farm ?? '',
		combines: allCombines.value.length === 0 ? letters(2) : [],
	};
}

const struckFields = () => [...thingsOf(book.value, 'field').values()].filter((x) => x.struck);

export function FieldsPage() {
	const found = fields.value.filter((f) => matches(f, words.value)).sort((a, b) => lastUse(b) - lastUse(a));
	const away = found.filter((f) => f.v.away);
	const struck = struckFields();
	return (
		<div class="page">
			<h2>{t.fieldsTitle}</h2>
			{form.value ? (
				<StartForm />
			) : (
				<div class="buttons">
					<Button class="main large" onClick={() => (form.value = beginForm())} text={t.newField} />
				</div>
			)}
			{fields.value.length > 0 && (
				<Box label={t.search} type="search" value={words.value} set={(v) => (words.value = v)} />
			)}
			<ul class="fields">
				{found
					.filter((f) => !f.v.away)
					.map((f) => (
						<Line key={f.id} field={f} />
					))}
			</ul>
			{away.length > 0 && (
				<>
					<h3>{t.doneFields}</h3>
					<ul class="fields">
						{away.map((f) => (
							<Line key={f.id} field={f} />
						))}
					</ul>
				</>
			)}
			{struck.length > 0 && (
				<>
					<h3>{t.voidedOnes}</h3>
					<ul class="fields">
						{struck.map((f) => (
							<li key={f.id}>
								<span class="line-text">{String(f.values.name ?? '')}</span>
								<Button onClick={() => void restoreThing(f.id, '')} text={t.restore} />
							</li>
						))}
					</ul>
				</>
			)}
			{fields.value.length > 0 && found.length === 0 && <p class="soft">{t.noneFound}</p>}
		</div>
	);
}

function Line(props: { field: Thing<'field'> }) {
	const f = props.field;
	const used_s = lastUse(f);
	const crop = cropName(f);
	return (
		<li class={f.id === field.value?.id ? 'open-field' : ''}>
			<button
				type="button"
				class="line-button"
				onClick={async () => {
					if (f.v.away) await editThing(f.id, { away: false }, '');
					set('field', f.id);
					go('now');
				}}
			>
				<span>
					<b>{f.v.name}</b>{' '}
					<span class="soft">
						{[t.cropNames[crop] ?? crop, f.v.season, f.v.farm, f.v.client]
							.filter((x) => x !== null && x !== '')
							.join(' · ')}
					</span>
				</span>
				<span class="n">{mass(netFieldKg(f.id))}</span>
				<span class="soft">{used_s > 0 ? when(used_s) : t.notBegun}</span>
			</button>
			<Button onClick={() => (opened.value = f.id)} text={t.edit} />
		</li>
	);
}

const lastUse = (f: Thing<'field'>): number => dumpsOn(book.value, f.id).at(-1)?.v.time_s ?? 0;

/** Whether every word of the search occurs in season, client, farm, field or crop. */
function matches(f: Thing<'field'>, search: string): boolean {
	const text = [f.v.name, f.v.season, f.v.client, f.v.farm, cropName(f)].join(' ').toLowerCase();
	return search
		.toLowerCase()
		.split(/\s+/)
		.every((w) => text.includes(w));
}

function StartForm() {
	const f = form.value!;
	const put = (x: Partial<Draft>) => (form.value = { ...f, ...x });
	const first = allCombines.value.length === 0;
	return (
		<Form
			class="mend card"
			submit={async () => {
				const season = Number(f.season);
				await startField(
					{
						name: f.name.trim(),
						crop: f.crop,
						season: Number.isInteger(season) && season > 0 ? season : null,
						client: f.client.trim() || null,
						farm: f.farm.trim() || null,
						timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
						tolerance_pct: field.value?.v.tolerance_pct ?? 2,
					},
					first ? f.combines.map((c) => ({ ...c, monitor: { ...c.monitor } })) : [],
				);
				form.value = null;
				// Requested once there is data to lose; the answer is shown under Backup.
				await navigator.storage?.persist?.().catch(() => false);
				go('now');
			}}
		>
			<Button type="submit" class="main large" disabled={f.name.trim() === ''} text={t.startThis} />
			<Box label={t.columns.name!} name="name" value={f.name} set={(name) => put({ name })} />
			<Menu
				label={t.columns.crop!}
				value={f.crop}
				options={CROPS.map((c) => [c.name, t.cropNames[c.name] ?? c.name] as const)}
				set={(crop) => put({ crop })}
			/>
			<Box label={t.columns.season!} numeric value={f.season} set={(season) => put({ season })} />
			<Box label={t.columns.farm!} value={f.farm} set={(farm) => put({ farm })} />
			<Box label={t.columns.client!} value={f.client} set={(client) => put({ client })} />
			{first && (
				<>
					<Pick
						label={t.howMany}
						options={[
							['1', t.combineCount(1)],
							['2', t.combineCount(2)],
							['3', t.combineCount(3)],
						]}
						value={String(f.combines.length)}
						choose={(n) =>
							put({ combines: [...f.combines, ...letters(3).slice(f.combines.length)].slice(0, Number(n)) })
						}
					/>
					{f.combines.map((c, i) => {
						const change = (x: Partial<typeof c>) =>
							put({ combines: f.combines.map((y, k) => (k === i ? { ...y, ...x } : y)) });
						return (
							<details key={i} class="first-combine">
								<summary>
									{t.monitorHow(c.name)}: {shownValue('monitor', { ...c.monitor })}
								</summary>
								<Box label={t.columns.combine!} value={c.name} set={(name) => change({ name })} />
								<MonitorChoices value={c.monitor} set={(monitor) => change({ monitor })} />
							</details>
						);
					})}
				</>
			)}
		</Form>
	);
}
