/** The pad for a monitor: weight and moisture on the same keys. */
import { signal, useSignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import { find } from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { lacksReading, monitorOf, netOf, putReading } from '../model/acts.ts';
import { askReading, unless } from '../model/asks.ts';
import { book } from '../model/state.ts';
import { mass, nameOfThing, t } from '../model/words.ts';
import { Pad, padNumber, shownDigits } from '../ui/pad.tsx';
import { asking, digits, overlay } from './desk.ts';

export function MonitorEntry(props: { ask: { dump: string; combine: string } }) {
	const { dump, combine } = props.ask;
	const m = monitorOf(combine);
	const d = find(book.value, 'dump', dump)!;
	const moisture = useMemo(() => signal(''), []);
	const at = useSignal<'weight' | 'moisture'>('weight');
	const n = padNumber(digits.value);
	const leave = () => {
		digits.value = '';
		asking.value = null;
	};
	const save = () => {
		const reading = { combine, dump, ...m, value: n!, moisture_pct: padNumber(moisture.value) };
		void unless(askReading(reading, d), t.yesSave(t.amount(n!, m.unit)), async () => {
			try {
				await putReading(reading);
			} catch {
				// The strip shows why it failed; the keyed digits stay.
				return;
			}
			digits.value = '';
			const rest = lacksReading(book.value, find(book.value, 'dump', dump)!);
			asking.value = rest === null ? null : { dump, combine: rest };
		});
	};
	return (
		<section class="entry" aria-label={t.monitor}>
			<div class="display monitor">
				<div class="asked">
					<span class="name">
						{t.monitorShowed(nameOfThing(combine), d.v.number)} · {t.weighed(mass(netOf(book.value, dump)))}
					</span>
					<Button
						class="plain"
						onClick={() => (overlay.value = `how ${combine}`)}
						text={t.monitorAs(m.how === 'load' ? t.aLoad : t.aTotal, m.unit, m.basis === 'wet' ? t.wet : t.dry)}
					/>
				</div>
				<button type="button" class="digits" aria-pressed={at.value === 'weight'} onClick={() => (at.value = 'weight')}>
					<small>{t.weightShort}</small> {digits.value === '' ? '0' : shownDigits(digits.value)}
					<small>{m.unit}</small>
				</button>
				<button
					type="button"
					class="digits second"
					aria-pressed={at.value === 'moisture'}
					onClick={() => (at.value = 'moisture')}
				>
					<small>{t.moistureShort}</small> {moisture.value === '' ? '–' : shownDigits(moisture.value)}
					<small>%</small>
				</button>
			</div>
			<Pad value={at.value === 'weight' ? digits : moisture} enter={n === null ? undefined : save} />
			<div class="taps">
				<div class="dumps">
					<Button class="main dump" disabled={n === null} onClick={save} text={t.saveMonitor} />
					<Button class="dump" onClick={leave} text={t.later} />
				</div>
			</div>
		</section>
	);
}
