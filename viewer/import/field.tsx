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

/** A combine can be renamed here if it is alone in its file. */
function renamable(combine: SeenField['combines'][number]): string | null {
	const [file, ...more] = combine.sources;
	if (file === undefined || more.length > 0) return null;
	const sharing = new Set(
		seen.value?.fields.flatMap((f) => f.combines.filter((c) => c.sources.includes(file)).map((c) => c.name)),
	);
	return sharing.size === 1 ? file : null;
}

export function FieldCard(props: { field: SeenField; alone: boolean }) {
	const { field: f, alone } = props;
	const blocking = f.questions.filter((q) => q.blocking);
	const others = f.questions.filter((q) => !q.blocking);
	const crop = cropNamed(f.crop ?? 'corn') ?? cropNamed('corn')!;
	const heading = `field-${f.folder}`;
	const zone = f.timeZone ?? 'UTC';
	return (
		<section class="field-card" aria-labelledby={heading}>
			<Ground field={f} />
			<div class="about">
				<h3 id={heading}>{f.name}</h3>
				<p class="soft">
					{f.crop ? t.crop(f.crop, f.crop_because) : t.cropUnknown} · {t.loads(f.dumps, f.tickets)} ·{' '}
					{f.boundary ? t.boundary : t.noBoundary}
					{f.combines.some((c) => c.start !== null) ? ` · ${t.times(zone)}` : ''}
				</p>
				{blocking.length > 0 && (
					<fieldset>
						<legend>{t.questions}</legend>
						<Questions of={blocking} field={f} />
					</fieldset>
				)}
				<ScrollBox class="scroll">
					<table>
						<Heads of={[t.combine, { n: t.records }, t.from, t.to, { n: t.monitor }, { n: t.area }]} />
						<tbody>
							{f.combines.map((c, k) => {
								const file = renamable(c);
								return (
									<tr key={c.name}>
										<th scope="row">
											<span class={`swatch c${k % 6}`} aria-hidden="true" />
											{file ? (
												<input
													aria-label={t.combineName(c.name)}
													defaultValue={c.name}
													size={Math.max(6, c.name.length)}
													onChange={(e) => {
														const name = e.currentTarget.value.trim();
														if (name !== '' && name !== c.name) answer(file, 'combine', name);
													}}
												/>
											) : (
												c.name
											)}
										</th>
										<td class="n">{number(c.records, 0)}</td>
										<td>{moment(c.start, zone)}</td>
										<td>{moment(c.end, zone)}</td>
										<td class="n">{quantity(c.monitor_kg, 'mass', crop, 0)}</td>
										<td class="n">{quantity(c.area_ha, 'area', crop, 1)}</td>
									</tr>
								);
							})}
						</tbody>
					</table>
				</ScrollBox>
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
				<div class="row">
					<Button
						class="main"
						disabled={blocking.length > 0 || rereading.value}
						aria-describedby={blocking.length > 0 ? `${heading}-open` : undefined}
						onClick={() => openChecked(f.folder)}
						text={alone ? t.open : t.openNamed(f.name)}
					/>
					{blocking.length > 0 && (
						<span class="warn" id={`${heading}-open`}>
							{t.openAfter(blocking.length)}
						</span>
					)}
				</div>
			</div>
		</section>
	);
}
