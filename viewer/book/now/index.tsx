/** The main page during work: the cart, the truck, the pad, and the check of the last dump. */

import { Button } from '../../inputs.tsx';
import { go } from '../model/route.ts';
import { cart, field } from '../model/state.ts';
import { cropName, cropUnknown, t } from '../model/words.ts';
import { Care } from '../ui/parts.tsx';
import { DumpMore, MonitorHow } from '../ui/sheets.tsx';
import { TruckSheet } from '../ui/truck-sheet.tsx';
import { ActsSheet, Undone } from './acts.tsx';
import { Check, Recent } from './check.tsx';
import { asking, extras, overlay, shown_kg, zeroed } from './desk.ts';
import { MonitorEntry } from './monitor.tsx';
import { ScaleEntry } from './scale.tsx';
import { Strip } from './strip.tsx';
import { Figures } from './trucks.tsx';

export function Now() {
	if (!field.value || !cart.value) return <NoField />;
	const close = () => (overlay.value = null);
	const over = overlay.value;
	return (
		<div class="now">
			<div class="read">
				<Strip />
				<Undone />
				<Figures />
				{cropUnknown() && <Care bad>{t.cropUnknown(cropName(field.value))}</Care>}
				<Check />
				<Recent />
			</div>
			{asking.value ? (
				<MonitorEntry key={asking.value.dump + asking.value.combine} ask={asking.value} />
			) : (
				<ScaleEntry />
			)}
			{over === 'truck' && <TruckSheet close={close} />}
			{over === 'more' && <DumpMore extras={extras} shows_kg={shown_kg()} zeroed={zeroed} close={close} />}
			{over === 'acts' && <ActsSheet close={close} />}
			{over?.startsWith('how ') && <MonitorHow combine={over.slice(4)} close={close} />}
		</div>
	);
}

function NoField() {
	return (
		<div class="welcome">
			<h2>{t.welcome}</h2>
			<p>{t.welcomeText}</p>
			<Button class="main large" onClick={() => go('fields')} text={t.startField} />
		</div>
	);
}
