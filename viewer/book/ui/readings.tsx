/** Monitor readings of a dump: to add, and to open for editing; and a running total read between dumps. */
import { signal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import { find, readingsOf, type Thing } from '../../../lib/book/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { monitorOf, putReading } from '../model/acts.ts';
import { askReading, unless } from '../model/asks.ts';
import { opened } from '../model/route.ts';
import { book } from '../model/state.ts';
import { keyed, nameOfThing, t } from '../model/words.ts';
import { Box } from './parts.tsx';

function words(r: Thing<'reading'>): string {
	return `${t.amount(r.v.value, r.v.unit)}, ${r.v.how === 'load' ? t.aLoad : t.aTotal}, ${r.v.basis === 'wet' ? t.wet : t.dry}`;
}

/** In a dump's sheet: one line per combine. */
export function ReadingsOf(props: { dump: string }) {
	const d = find(book.value, 'dump', props.dump);
	if (!d || d.v.combines.length === 0) return null;
	const own = readingsOf(book.value, props.dump);
	return (
		<section class="readings" aria-label={t.monitor}>
			<h3>{t.monitor}</h3>
			{own.map((r) => (
				<button key={r.id} type="button" onClick={() => (opened.value = r.id)}>
					<b>{nameOfThing(r.v.combine)}</b> {words(r)}
				</button>
			))}
			{d.v.combines
				.filter((c) => !own.some((r) => r.v.combine === c))
				.map((c) => (
					<KeyReading key={c} combine={c} dump={props.dump} label={t.monitorShowed(nameOfThing(c), d.v.number)} />
				))}
		</section>
	);
}

/** On a combine's card: its current running total, at the start of a field or between dumps. */
export function TotalNow(props: { combine: string }) {
	if (monitorOf(props.combine).how !== 'total') return null;
	return <KeyReading combine={props.combine} dump={null} label={t.totalNow(nameOfThing(props.combine))} />;
}

function KeyReading(props: { combine: string; dump: string | null; label: string }) {
	const form = useMemo(() => signal({ value: '', moisture: '' }), []);
	const m = monitorOf(props.combine);
	const n = keyed(form.value.value);
	return (
		<Form
			class="mend"
			submit={() => {
				const moisture_pct = keyed(form.value.moisture);
				const reading = { combine: props.combine, dump: props.dump, ...m, value: n!, moisture_pct };
				const asked = askReading(reading, find(book.value, 'dump', props.dump));
				void unless(asked, t.yesSave(t.amount(n!, m.unit)), async () => {
					await putReading(reading);
					form.value = { value: '', moisture: '' };
				});
			}}
		>
			<Box
				label={`${props.label} (${m.how === 'load' ? t.aLoad : t.aTotal}, ${m.basis === 'wet' ? t.wet : t.dry})`}
				unit={m.unit}
				numeric
				value={form.value.value}
				set={(value) => (form.value = { ...form.value, value })}
			/>
			<Box
				label={t.monitorMoisture}
				unit="%"
				numeric
				value={form.value.moisture}
				set={(moisture) => (form.value = { ...form.value, moisture })}
			/>
			<Button type="submit" disabled={n === null} text={t.saveMonitor} />
		</Form>
	);
}
