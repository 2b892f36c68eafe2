/** One field as it was read: place, combines, weights, open questions. */
import { cropNamed } from '../../lib/units/index.ts';
import { answer, openChecked } from '../engine/answer.ts';
import { Button } from '../inputs.tsx';
import { number, own, quantity } from '../state/format.ts';
import { imports as t } from '../strings/import.ts';
import { Heads, Lines, ScrollBox } from '../table.tsx';
import { Ground } from './ground.tsx';
import { Questions } from './question.tsx';
import { rereading, seen } from './state.ts';
import type { SeenField } from './understood.ts';

const moment = (iso: string | null, timeZone: string) =>
	iso === null
		? t.noTime
		: new Intl.DateTimeFormat(navigator.language, { dateStyle: 'medium', timeStyle: 'short', timeZone }).format(
				new Date(iso),
			);

/** The file in which a combine is alone, so that it can be renamed here; null where it is not. */
function renamable(sources: readonly string[]): string | null {
	const [file, ...more] = sources;
	if (file === undefined || more.length > 0) return null;
	const sharing = new Set(
		seen.value?.fields.flatMap((f) => f.combines.filter((c) => c.sources.includes(file)).map((c) => c.name)),
	);
	return sharing.size === 1 ? file : null;
}

/** The combines of a field, each with what it recorded. */
function CombinesTable({ field }: { field: SeenField }) {
	const crop = cropNamed(field.crop ?? 'corn') ?? cropNamed('corn')!;
	const zone = field.timeZone ?? 'UTC';
	return (
		<ScrollBox class="scroll">
			<table>
				<Heads of={[t.combine, { n: t.records }, t.from, t.to, { n: t.monitor }, { n: t.area }]} />
				<tbody>
					{field.combines.map((c, k) => (
						<tr key={c.name}>
							<th scope="row">
								<span class={`swatch c${k % 6}`} aria-hidden="true" />
								<CombineName combine={c} />
							</th>
							<td class="n">{number(c.records, 0)}</td>
							<td class="words">{moment(c.start, zone)}</td>
							<td class="words">{moment(c.end, zone)}</td>
							<td class="n">{quantity(c.monitor_kg, 'mass', crop, 0)}</td>
							<td class="n">{quantity(c.area_ha, 'area', crop, 1)}</td>
						</tr>
					))}
				</tbody>
			</table>
		</ScrollBox>
	);
}

/** A combine's name, which can be changed here if it is alone in its file. */
function CombineName({ combine: { name, sources } }: { combine: SeenField['combines'][number] }) {
	const file = renamable(sources);
	if (file === null) return <>{name}</>;
	return (
		<input
			aria-label={t.combineName(name)}
			defaultValue={name}
			size={Math.min(24, Math.max(6, name.length))}
			onChange={(e) => {
				const typed = e.currentTarget.value.trim();
				if (typed !== '' && typed !== name) answer(file, 'combine', typed);
			}}
		/>
	);
}

/** The button that opens the field, and what is still to be answered before it can. */
function OpenField({ field, alone, open }: { field: SeenField; alone: boolean; open: number }) {
	const why = `field-${field.folder}-open`;
	return (
		<div class="row">
			<Button
				class="main"
				disabled={open > 0 || rereading.value}
				aria-describedby={open > 0 ? why : undefined}
				onClick={() => openChecked(field.folder)}
				text={alone ? t.open : t.openNamed(field.name)}
			/>
			{open > 0 && (
				<span class="warn" id={why}>
					{t.openAfter(open)}
				</span>
			)}
		</div>
	);
}

export function FieldCard({ field: f, alone }: { field: SeenField; alone: boolean }) {
	const blocking = f.questions.filter((q) => q.blocking);
	const others = f.questions.filter((q) => !q.blocking);
	const heading = `field-${f.folder}`;
	return (
		<section class="field-card" aria-labelledby={heading}>
			<Ground field={f} />
			<div class="about">
				<h3 id={heading}>{f.name}</h3>
				<p class="soft">
					{f.crop ? t.crop(f.crop, f.crop_because) : t.cropUnknown} · {t.loads(f.dumps, f.tickets)} ·{' '}
					{f.boundary ? t.boundary : t.noBoundary}
					{f.combines.some((c) => c.start !== null) ? ` · ${t.times(f.timeZone ?? 'UTC')}` : ''}
				</p>
				{blocking.length > 0 && (
					<fieldset>
						<legend>{t.questions}</legend>
						<Questions of={blocking} field={f} />
					</fieldset>
				)}
				<CombinesTable field={f} />
				{others.length > 0 && (
					<details>
						<summary>
							{t.toCheck} ({others.length})
						</summary>
						<Questions of={others} field={f} />
					</details>
				)}
				{f.notes.length > 0 && (
					<details>
						<summary>{t.notes(f.notes.length)}</summary>
						<Lines class="plain-list small" of={f.notes.map(own)} />
					</details>
				)}
				<OpenField field={f} alone={alone} open={blocking.length} />
			</div>
		</section>
	);
}
