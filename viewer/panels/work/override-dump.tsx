import type { Pins, Scene } from '../../../lib/model/index.ts';
import { PIN_STATUSES } from '../../../lib/model/limits.ts';
import { Button, Select } from '../../inputs.tsx';
import { edits } from '../../state/edits.ts';
import { held, litOfDump } from '../../state/field.ts';
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
					<Select
						value={id}
						options={[...new Set(dumps.map((d) => d.id))].map((d) => [d, d])}
						set={(chosen) => (held.value = litOfDump(dumps.find((d) => d.id === chosen)!))}
					/>
				</label>
				<label>
					{strings.evidence.combine}
					<Select
						value={now.combine ?? ''}
						options={[['', t.asFound], ...options.map((c) => [c, c] as const)]}
						set={(combine) => set({ combine }, t.pinnedCombine(id, combine))}
					/>
				</label>
				<label>
					{strings.evidence.status}
					<Select
						value={now.status ?? ''}
						options={[
							['', t.asFound],
							...PIN_STATUSES.map((status) => [status, strings.evidence.statuses[status]] as const),
						]}
						set={(status) =>
							set(
								{ status: status || undefined },
								t.pinnedStatus(id, status === '' ? t.asFound : strings.evidence.statuses[status]),
							)
						}
					/>
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
					<Button
						class="plain"
						onClick={() =>
							pin(t.letGo(id), (all) => {
								if (all.dumps) delete all.dumps[id];
								return all;
							})
						}
						text={t.letGo(id)}
					/>
					{!s.facts.result.dumps.some((d) => d.id === id) && <span class="warn"> {t.noSuchDump}</span>}
				</li>
			))}
		</ul>
	);
}
