/** The pad for the cart's scale, and the buttons that enter a weight. */

import { Button } from '../../inputs.tsx';
import { putDump, putOffload } from '../model/acts.ts';
import { askDump, askOffload, overLimit_kg, unless } from '../model/asks.ts';
import { connect, live } from '../model/live.ts';
import { combines, level_kg, truck } from '../model/state.ts';
import { undoAct, undoable } from '../model/undo.ts';
import { combineNames, mass, massNumber, massUnit, nameOfThing, t } from '../model/words.ts';
import { Pad, shownDigits } from '../ui/pad.tsx';
import { Called } from '../ui/parts.tsx';
import { digits, emptied, extras, givingBack, latest, overlay, runningScale, shown_kg } from './desk.ts';

const TANK: Record<string, string> = { null: t.tankAsk, yes: t.tankEmpty, no: t.tankNotEmpty };

export function ScaleEntry() {
	const kg = shown_kg();
	const running = runningScale();
	const net_kg = kg === null ? null : running ? kg - level_kg.value : kg;
	// A lower reading is grain that left the cart: then the truck's button is the likely one.
	const out = running && net_kg !== null && net_kg < 0;
	const keyed = () => (running ? { reading_kg: kg! } : { net_kg: kg! });
	const dump = (ids: string[]) => {
		const taken = keyed();
		const more = { emptied: emptied.value, ...extras.value };
		void unless(askDump(ids, net_kg!), t.yesSave(`${mass(net_kg)}, ${combineNames(ids)}`), async () => {
			// Never kept for the next dump: whether one tank was emptied does not apply to the next.
			emptied.value = null;
			extras.value = { moisture_pct: null, testWeight_kg_hl: null, note: null };
			await givingBack(async () => {
				latest.value = await putDump(ids, taken, more);
			});
		});
	};
	const off_kg = kg === null ? level_kg.value : running ? -net_kg! : kg;
	const offload = () => {
		const taken = kg === null ? { net_kg: level_kg.value } : keyed();
		void unless(askOffload(off_kg), t.yesSave(mass(off_kg)), () => givingBack(() => putOffload(taken)));
	};
	const ids = combines.value.map((c) => c.id);
	const over = overLimit_kg(out || kg === null ? off_kg : 0);
	return (
		<section class="entry" aria-label={t.scale}>
			<div class="display">
				<span class="name asked-plain">{running ? t.scaleReads : t.netWeight}</span>
				<output
					class={digits.value === '' ? 'digits idle' : 'digits'}
					aria-label={running ? t.scaleReads : t.netWeight}
				>
					{digits.value === '' ? massNumber(kg ?? (running ? level_kg.value : 0)) : shownDigits(digits.value)}
					<small>{massUnit()}</small>
				</output>
				<Net kg={running ? net_kg : null} over_kg={out ? over : 0} />
				{live.value.state === 'lost' && (
					<p class="lost" role="alert">
						{t.cableLost}
						<Button onClick={() => void connect()} text={t.reconnect} />
					</p>
				)}
			</div>
			<Pad value={digits} />
			<div class="taps">
				<div class="dumps">
					{[...ids.map((id) => [id]), ...(ids.length === 2 ? [ids] : [])].map((own) => (
						<Button
							key={own.join()}
							class={out ? 'dump' : 'main dump'}
							disabled={kg === null}
							onClick={() => dump(own)}
							text={<Called name={own.map(nameOfThing).join(' + ')} />}
						/>
					))}
				</div>
				<div class="others">
					<Button
						class={out ? 'tall main' : 'tall'}
						disabled={kg === null && level_kg.value <= 0}
						onClick={offload}
						text={
							<>
								{kg === null ? t.allToTruck : t.toTruck}
								{truck.value && <small>{truck.value.v.name}</small>}
							</>
						}
					/>
					<Button
						aria-label={t.tankLabel(TANK[String(emptied.value)]!)}
						aria-pressed={emptied.value !== null}
						onClick={() => (emptied.value = emptied.value === null ? 'yes' : emptied.value === 'yes' ? 'no' : null)}
						text={TANK[String(emptied.value)]}
					/>
					<Button aria-pressed={moreSaid()} onClick={() => (overlay.value = 'more')} text={t.more} />
					<Button
						disabled={undoable.value === null}
						aria-label={undoable.value ? t.undoThis(undoable.value.label) : t.undo}
						onClick={() => undoable.value && void undoAct(undoable.value)}
						text={t.undo}
					/>
				</div>
			</div>
		</section>
	);
}

const moreSaid = (): boolean => Object.values(extras.value).some((x) => x !== null);

/** The meaning of the reading: so much in, or so much out. */
function Net(props: { kg: number | null; over_kg: number }) {
	const { kg, over_kg } = props;
	if (kg === null) return <span class="net"> </span>;
	if (kg >= 0) return <span class="net">{t.netIn(mass(kg))}</span>;
	return (
		<span class={over_kg > 0 ? 'net warn over' : 'net warn'}>
			{t.netOut(mass(-kg))}
			{over_kg > 0 && <b role="alert"> {t.overBy(truck.value!.v.name, mass(over_kg))}</b>}
		</span>
	);
}
