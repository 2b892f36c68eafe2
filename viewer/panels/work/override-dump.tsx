import type { Pins, Scene } from '../../../lib/model/index.ts';
import { edits } from '../../state/edits.ts';
import { held } from '../../state/field.ts';
import { strings } from '../../strings/index.ts';
import { canOverride, pin } from './override.ts';

const t = strings.work;

/** Override of a dump's combine and status; a highlighted dump is preselected. */
export function OverrideDump({ s }: { s: Scene }) {
	const { dumps } = s.facts.result;
	if (!canOverride(s) || dumps.length === 0) return null;
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
