/** Sheets opened from the pad: choice of truck, details of a dump, monitor settings. */
import { type Signal, useSignal } from '@preact/signals';
import type { MonitorSetup } from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { editThing, monitorOf } from '../model/acts.ts';
import { device, set } from '../model/state.ts';
import { crop, fromKgHl, inBox, keyed, mass, nameOfThing, t, testWeightUnit, toKgHl } from '../model/words.ts';
import { Box, Pick, Sheet } from './parts.tsx';

/** Moisture, test weight, variety and a note for the next dump. */
export function DumpMore(props: {
	extras: Signal<{ moisture_pct: number | null; testWeight_kg_hl: number | null; note: string | null }>;
	/** The scale's present reading, keyed or live. */
	shows_kg: number | null;
	zeroed: (kg: number) => Promise<void>;
	close: () => void;
}) {
	const { extras, shows_kg } = props;
	return (
		<Sheet title={t.moreTitle} close={props.close}>
			<div class="mend">
				<Number_
					label={t.columns.moisture_pct!}
					unit="%"
					value={extras.value.moisture_pct}
					set={(v) => (extras.value = { ...extras.value, moisture_pct: v })}
				/>
				<Number_
					label={t.columns.testWeight_kg_hl!}
					unit={testWeightUnit()}
					value={extras.value.testWeight_kg_hl === null ? null : fromKgHl(extras.value.testWeight_kg_hl)}
					set={(v) => (extras.value = { ...extras.value, testWeight_kg_hl: v === null ? null : toKgHl(v) })}
				/>
				<Box
					label={t.varietyFromHere}
					value={device.value.variety ?? ''}
					set={(v) => set('variety', v.trim() === '' ? null : v)}
				/>
				<Box
					label={t.columns.note!}
					value={extras.value.note ?? ''}
					set={(v) => (extras.value = { ...extras.value, note: v === '' ? null : v })}
				/>
				<Button class="main" onClick={props.close} text={t.done} />
			</div>
			<h3>{t.keyedAs}</h3>
			<Pick<'running' | 'net'>
				label={t.keyedAs}
				options={[
					['running', t.keyRunning],
					['net', t.keyNet],
				]}
				value={device.value.scaleShows}
				choose={(v) => set('scaleShows', v)}
			/>
			<h3>{t.zeroTitle}</h3>
			<p class="soft">{t.zeroText}</p>
			<Button
				disabled={shows_kg === null}
				onClick={() => void props.zeroed(shows_kg!)}
				text={shows_kg === null ? t.zeroKeyFirst : t.zeroHere(mass(shows_kg))}
			/>
		</Sheet>
	);
}

/** A numeric input that keeps what is typed until it can be read as a number. */
function Number_(props: { label: string; unit: string; value: number | null; set: (v: number | null) => void }) {
	const text = useSignal(props.value === null ? '' : inBox(props.value, 2));
	return (
		<Box
			label={props.label}
			unit={props.unit}
			numeric
			value={text.value}
			set={(written) => {
				text.value = written;
				const n = keyed(written);
				if (written.trim() === '' || n !== null) props.set(n);
			}}
		/>
	);
}

/** A combine's monitor settings: saved with the combine; others stay unchanged. */
export function MonitorHow(props: { combine: string; close: () => void }) {
	const m = monitorOf(props.combine);
	return (
		<Sheet title={t.monitorHow(nameOfThing(props.combine))} close={props.close}>
			<MonitorChoices value={m} set={(x) => void editThing(props.combine, { monitor: { ...x } }, '')} />
			<Button class="main large" onClick={props.close} text={t.done} />
		</Sheet>
	);
}

/** Load or running total, unit, wet or dry. */
export function MonitorChoices(props: { value: MonitorSetup; set: (m: MonitorSetup) => void }) {
	const m = props.value;
	const change = (x: Partial<MonitorSetup>) => props.set({ ...m, ...x });
	return (
		<div class="mend monitor-choices">
			<Pick<'load' | 'total'>
				label={t.columns.how!}
				options={[
					['load', t.aLoad],
					['total', t.aTotal],
				]}
				value={m.how}
				choose={(how) => change({ how })}
			/>
			<Pick<MonitorSetup['unit']>
				label={t.columns.unit!}
				options={(['lb', 'bu', 'kg', 't'] as const).map((u) => [u, u] as const)}
				value={m.unit}
				choose={(unit) => change({ unit })}
			/>
			<Pick<'wet' | 'dry'>
				label={t.columns.basis!}
				options={[
					['wet', t.wet],
					['dry', t.dry],
				]}
				value={m.basis}
				choose={(basis) =>
					change({ basis, at_pct: basis === 'dry' ? (m.at_pct ?? crop()?.market_moisture_pct ?? null) : null })
				}
			/>
			{m.basis === 'dry' && <Number_ label={t.dryAt} unit="%" value={m.at_pct} set={(at_pct) => change({ at_pct })} />}
			<p class="soft">
				{m.how === 'load' ? t.aLoadMeans : t.aTotalMeans} {m.basis === 'dry' && t.dryMeans}
			</p>
		</div>
	);
}
