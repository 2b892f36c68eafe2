/** Overrides: each control makes one step, which is saved and can be undone; the map is updated at once. */
import { useSignal } from '@preact/signals';
import type { FactorForm, Pins, Scene } from '../../../lib/model/index.ts';
import { thresholdScale } from '../../../lib/units/index.ts';
import { edits, restep, step } from '../../state/edits.ts';
import { held, origin } from '../../state/field.ts';
import { duration, number } from '../../state/format.ts';
import { units } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { PlotBox, token } from '../evidence/plot.tsx';

const t = strings.work;

/** True where the field's files are available, so that it can be solved again. */
export const canOverrule = (s: Scene): boolean => origin.value !== 'results' && s.facts.evidence !== null;

function pin(label: string, change: (pins: Pins) => Pins, again = false): void {
	const next = { ...edits.value, pins: change(structuredClone(edits.value.pins)) };
	if (again) restep(label, next);
	else step(label, next);
}

/** Override of a dump's combine and status; a highlighted dump is preselected. */
export function OverruleDump({ s }: { s: Scene }) {
	const { dumps } = s.facts.result;
	if (!canOverrule(s) || dumps.length === 0) return null;
	const h = held.value;
	const id = h?.kind === 'dump' ? h.id : (dumps.find((d) => d.status === 'aside') ?? dumps[0]!).id;
	const now = edits.value.pins.dumps?.[id] ?? {};
	const { combines } = s.facts;
	const options = [...combines, ...(combines.length === 2 ? [combines.join('+')] : [])];
	const set = (with_: NonNullable<Pins['dumps']>[string], label: string) =>
		pin(label, (pins) => {
			const dump = { ...now, ...with_ };
			if (!dump.combine) delete dump.combine;
			if (!dump.status) delete dump.status;
			pins.dumps = { ...pins.dumps, [id]: dump };
			if (Object.keys(dump).length === 0) delete pins.dumps[id];
			return pins;
		});
	return (
		<details>
			<summary>{t.overruleDump}</summary>
			<div class="overrule">
				<label>
					{strings.evidence.dump}
					<select
						value={id}
						onChange={(e) => {
							const d = dumps.find((x) => x.id === e.currentTarget.value)!;
							held.value = { kind: 'dump', id: d.id, fills: d.fill?.split('+') ?? [] };
						}}
					>
						{dumps.map((d, i) => (
							<option key={`${d.id}/${i}`} value={d.id}>
								{d.id}
							</option>
						))}
					</select>
				</label>
				<label>
					{strings.evidence.combine}
					<select
						value={now.combine ?? ''}
						onChange={(e) => set({ combine: e.currentTarget.value }, t.pinnedCombine(id, e.currentTarget.value))}
					>
						<option value="">{t.asFound}</option>
						{options.map((c) => (
							<option key={c} value={c}>
								{c}
							</option>
						))}
					</select>
				</label>
				<label>
					{strings.evidence.status}
					<select
						value={now.status ?? ''}
						onChange={(e) =>
							set(
								{ status: e.currentTarget.value as 'used' },
								t.pinnedStatus(id, strings.evidence.statuses[e.currentTarget.value as 'used'] ?? t.asFound),
							)
						}
					>
						<option value="">{t.asFound}</option>
						{(['used', 'joined', 'aside'] as const).map((k) => (
							<option key={k} value={k}>
								{strings.evidence.statuses[k]}
							</option>
						))}
					</select>
				</label>
				<Pinned s={s} />
			</div>
		</details>
	);
}

/** Overridden dumps, each with a button to clear the override. */
function Pinned({ s }: { s: Scene }) {
	const pins = Object.entries(edits.value.pins.dumps ?? {});
	if (pins.length === 0) return null;
	return (
		<ul>
			{pins.map(([id, p]) => (
				<li key={id}>
					{t.pinned(id, [p.combine, p.status && strings.evidence.statuses[p.status]].filter(Boolean).join(', '))}{' '}
					<button
						type="button"
						class="plain"
						onClick={() =>
							pin(t.letGo(id), (all) => {
								if (all.dumps) delete all.dumps[id];
								return all;
							})
						}
					>
						{t.letGo(id)}
					</button>
					{!s.facts.result.dumps.some((d) => d.id === id) && <span class="warn"> {t.noSuchDump}</span>}
				</li>
			))}
		</ul>
	);
}

/** The cart clock: drag its offset and see the misfit of the dumps. */
export function Clock({ s }: { s: Scene }) {
	const { clock } = s.facts.result;
	const fit = s.facts.evidence?.clockFit ?? [];
	const pinned = edits.value.pins.clock_offset_s;
	const dragged = useSignal<number | null>(null);
	const stands = pinned ?? clock.offset_s ?? 0;
	const now = dragged.value ?? stands;
	const reach = Math.max(600, Math.ceil(Math.abs(stands) / 600) * 600 + 300);
	const shown = fit.filter((p) => Math.abs(p.offset_s) <= reach && Number.isFinite(p.cost));
	return (
		<details>
			<summary>
				{t.clock}:{' '}
				{clock.offset_s === null
					? t.clockNone
					: t.clockVerdict(
							duration(Math.abs(clock.offset_s)),
							clock.offset_s >= 0,
							number(1.96 * (clock.u_s ?? Number.NaN), 0),
						)}
			</summary>
			<div class="overrule">
				{shown.length > 2 && (
					<PlotBox
						label={t.clockPlot}
						on={`${fit.length}/${now}`}
						options={(P) => ({
							height: 80,
							marginLeft: 12,
							marginRight: 12,
							marginBottom: 22,
							x: { domain: [-reach, reach], label: null, ticks: 5, tickFormat: (v: number) => duration(v) },
							y: { axis: null },
							marks: [
								P.lineY(shown, { x: 'offset_s', y: 'cost', stroke: token('--accent'), clip: true }),
								P.ruleX([now], { stroke: token('--lit'), strokeWidth: 1.5 }),
							],
						})}
					/>
				)}
				{canOverrule(s) && (
					<>
						<input
							type="range"
							min={-reach}
							max={reach}
							step={1}
							value={now}
							aria-label={t.clockDrag}
							aria-valuetext={duration(now)}
							onInput={(e) => (dragged.value = e.currentTarget.valueAsNumber)}
							onChange={(e) => {
								const v = e.currentTarget.valueAsNumber;
								dragged.value = null;
								pin(t.clock, (pins) => ({ ...pins, clock_offset_s: v }), true);
							}}
						/>
						<div class="row">
							<label>
								{t.clockSeconds}
								<input
									type="number"
									value={Math.round(now)}
									onChange={(e) => {
										const v = e.currentTarget.valueAsNumber;
										if (Number.isFinite(v)) pin(t.clock, (pins) => ({ ...pins, clock_offset_s: v }), true);
									}}
								/>
							</label>
							{pinned !== undefined && (
								<button
									type="button"
									class="plain"
									onClick={() => pin(t.clockEstimate, ({ clock_offset_s: _, ...rest }) => rest)}
								>
									{t.clockEstimate}
								</button>
							)}
						</div>
					</>
				)}
			</div>
		</details>
	);
}

/** Override of each factor's pattern or value. */
export function OverruleFactor({ s }: { s: Scene }) {
	if (!canOverrule(s)) return null;
	const set = (name: string, with_: { form?: FactorForm; value?: number }, label: string) =>
		pin(label, (pins) => {
			const f = { ...pins.factors?.[name], ...with_ };
			if (f.form === undefined) delete f.form;
			if (f.value === undefined) delete f.value;
			pins.factors = { ...pins.factors, [name]: f };
			if (Object.keys(f).length === 0) delete pins.factors[name];
			return pins;
		});
	return (
		<details>
			<summary>{t.overruleFactor}</summary>
			<div class="overrule">
				{s.facts.combines.map((name) => {
					const now = edits.value.pins.factors?.[name] ?? {};
					return (
						<div class="row" key={name}>
							<b>{name}</b>
							<label>
								{t.form}
								<select
									value={now.form ?? ''}
									onChange={(e) => {
										const form = (e.currentTarget.value || undefined) as FactorForm | undefined;
										set(name, { form }, t.pinnedForm(name, form ? strings.evidence.formNames[form] : t.asFound));
									}}
								>
									<option value="">{t.asFound}</option>
									{(['constant', 'step', 'trend', 'flow'] as const).map((f) => (
										<option key={f} value={f}>
											{strings.evidence.formNames[f]}
										</option>
									))}
								</select>
							</label>
							<label>
								{t.ownValue}
								<input
									type="number"
									step="0.001"
									min="0.5"
									max="2"
									value={now.value ?? ''}
									onChange={(e) => {
										const v = e.currentTarget.valueAsNumber;
										set(name, { value: v > 0 ? v : undefined }, t.pinnedValue(name));
									}}
								/>
							</label>
						</div>
					);
				})}
				<LevelBySeams s={s} />
			</div>
		</details>
	);
}

/** Offered where no weight determines the level and two combines meet at seams. */
function LevelBySeams({ s }: { s: Scene }) {
	const { combines, seams } = s.facts.result;
	const asked = edits.value.pins.level === 'seams';
	const bare = Object.values(combines).every((c) => c.factor === null);
	if (!asked && !(bare && seams.some((j) => j.pair[0] !== j.pair[1]))) return null;
	return (
		<label class="check">
			<input
				type="checkbox"
				checked={asked}
				onChange={(e) => {
					const on = e.currentTarget.checked;
					pin(on ? t.leveled : t.notLeveled, ({ level: _, ...rest }) => (on ? { ...rest, level: 'seams' } : rest));
				}}
			/>
			{t.levelBySeams}
		</label>
	);
}

/** Thresholds of flags: the values in use, with fields to change them. */
export function OverruleFlags({ s }: { s: Scene }) {
	const { evidence, combines } = s.facts;
	if (!canOverrule(s) || !evidence) return null;
	const words = Object.keys(t.thresholds) as (keyof typeof t.thresholds)[];
	const found = (word: string) =>
		combines.map((name) => evidence.thresholds[`${name}.${word}`]).filter((v): v is number => Number.isFinite(v));
	return (
		<details>
			<summary>{t.overruleFlags}</summary>
			<div class="overrule">
				{words.map((word) => {
					const was = found(word);
					if (was.length === 0 && word !== 'lone') return null;
					const now = edits.value.flags[word];
					const scale = thresholdScale(word, units.value);
					const shown = (v: number | undefined) => (v === undefined ? '' : Number(scale.show(v).toPrecision(4)));
					return (
						<label key={word}>
							<input
								type="number"
								step="any"
								value={shown(now)}
								placeholder={String(shown(was[0]))}
								onChange={(e) => {
									const v = Number(scale.read(e.currentTarget.valueAsNumber).toPrecision(8));
									const { [word]: _, ...rest } = edits.value.flags;
									step(t.pinnedFlag(t.thresholds[word]), {
										...edits.value,
										flags: Number.isFinite(v) ? { ...rest, [word]: v } : rest,
									});
								}}
							/>
							{t.thresholds[word]}
							{scale.unit !== '' && `, ${scale.unit}`}
						</label>
					);
				})}
			</div>
		</details>
	);
}
