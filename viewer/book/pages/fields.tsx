/** Fields of the season: find one and go on, or start one in two taps. */
import { signal } from '@preact/signals';
import { type Kept, kept } from '../../../lib/book/index.ts';
import { CROPS } from '../../../lib/units/index.ts';
import { startField } from '../model/acts.ts';
import { go, opened } from '../model/route.ts';
import { book, combines, field, fields, set } from '../model/state.ts';
import { mass, netFieldKg, t, when } from '../model/words.ts';
import { Box, Menu, Pick } from '../ui/parts.tsx';

const words = signal('');
interface Form {
	name: string;
	crop: string;
	season: string;
	client: string;
	farm: string;
	count: '1' | '2' | '3';
}
const form = signal<Form | null>(null);

function beginForm(): Form {
	const before = field.value?.v ?? fields.value.at(-1)?.v ?? null;
	const crop = before === null ? 'corn' : typeof before.crop === 'string' ? before.crop : before.crop.name;
	return {
		name: t.fieldNumber(fields.value.length + 1),
		crop,
		season: String(before?.season ?? new Date().getFullYear()),
		client: before?.client ?? '',
		farm: before?.farm ?? '',
		count: '2',
	};
}

export function FieldsPage() {
	const found = fields.value.filter((f) => matches(f, words.value)).sort((a, b) => lastUse(b) - lastUse(a));
	return (
		<div class="page">
			<h2>{t.fieldsTitle}</h2>
			{form.value ? (
				<StartForm />
			) : (
				<div class="buttons">
					<button type="button" class="main large" onClick={() => (form.value = beginForm())}>
						{t.newField}
					</button>
				</div>
			)}
			{fields.value.length > 0 && (
				<Box label={t.search} type="search" value={words.value} set={(v) => (words.value = v)} />
			)}
			<ul class="fields">
				{found.map((f) => (
					<li key={f.id} class={f.id === field.value?.id ? 'open-field' : ''}>
						<button
							type="button"
							class="line-button"
							onClick={() => {
								set('field', f.id);
								go('now');
							}}
						>
							<span>
								<b>{f.v.name}</b>{' '}
								<span class="soft">
									{[typeof f.v.crop === 'string' ? f.v.crop : f.v.crop.name, f.v.season, f.v.farm, f.v.client]
										.filter((x) => x !== null && x !== '')
										.join(' · ')}
								</span>
							</span>
							<span class="n">{mass(netFieldKg(f.id))}</span>
							<span class="soft">{lastUse(f) > 0 ? when(lastUse(f)) : t.notBegun}</span>
						</button>
						<button type="button" onClick={() => (opened.value = f.id)}>
							{t.edit}
						</button>
					</li>
				))}
			</ul>
			{fields.value.length > 0 && found.length === 0 && <p class="soft">{t.noneFound}</p>}
		</div>
	);
}

function lastUse(f: Kept<'field'>): number {
	return kept(book.value, 'dump').reduce((m, d) => (d.v.field === f.id ? Math.max(m, d.v.time_s) : m), 0);
}

/** Every word of the search stands somewhere in season, client, farm, field or crop. */
function matches(f: Kept<'field'>, search: string): boolean {
	const text = [f.v.name, f.v.season, f.v.client, f.v.farm, typeof f.v.crop === 'string' ? f.v.crop : f.v.crop.name]
		.join(' ')
		.toLowerCase();
	return search
		.toLowerCase()
		.split(/\s+/)
		.every((w) => text.includes(w));
}

function StartForm() {
	const f = form.value!;
	const put = (x: Partial<Form>) => (form.value = { ...f, ...x });
	const first = combines.value.length === 0;
	return (
		<form
			class="mend card"
			noValidate
			onSubmit={async (e) => {
				e.preventDefault();
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
					first ? Number(f.count) : 0,
				);
				form.value = null;
				// Asked when there is something to lose; the answer is shown under Keep.
				await navigator.storage?.persist?.().catch(() => false);
				go('now');
			}}
		>
			<button type="submit" class="main large" disabled={f.name.trim() === ''}>
				{t.startThis}
			</button>
			<Box label={t.columns.name!} name="name" value={f.name} set={(name) => put({ name })} />
			<Menu
				label={t.columns.crop!}
				value={f.crop}
				options={CROPS.map((c) => [c.name, c.name] as const)}
				set={(crop) => put({ crop })}
			/>
			<Box label={t.columns.season!} numeric value={f.season} set={(season) => put({ season })} />
			<Box label={t.columns.farm!} value={f.farm} set={(farm) => put({ farm })} />
			<Box label={t.columns.client!} value={f.client} set={(client) => put({ client })} />
			{first && (
				<Pick
					label={t.howMany}
					options={[
						['1', t.combineCount(1)],
						['2', t.combineCount(2)],
						['3', t.combineCount(3)],
					]}
					value={f.count}
					choose={(count) => put({ count })}
				/>
			)}
		</form>
	);
}
