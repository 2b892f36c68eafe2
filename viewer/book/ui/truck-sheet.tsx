/** Sheet opened from the pad: choice of truck. */
import { signal } from '@preact/signals';
import { keptAll } from '../../../lib/book/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { chooseTruck, editThing, putThing, reopen, setDestination } from '../model/acts.ts';
import { askValue, unless } from '../model/asks.ts';
import { allTrucks, book, destinations, device, grain, load, openLoads, truck, trucks } from '../model/state.ts';
import { keyed, mass, massUnit, t, toKg, truckLabel } from '../model/words.ts';
import { Box, Sheet } from './parts.tsx';

const newTruck = signal<{ name: string; room: string } | null>(null);

const newPlace = signal<string | null>(null);

const wrong = signal(false);

export function TruckSheet(props: { close: () => void }) {
	const chosen = truck.value?.id ?? null;
	const open = load.value;
	const where = open ? open.v.destination : device.value.destination;
	const loads = grain.value.loads;
	const leftLast = keptAll(book.value, 'load')
		.filter((l) => l.v.closed && (loads.get(l.id)?.cart_kg ?? 0) > 0)
		.slice(-3)
		.reverse();
	return (
		<Sheet title={t.truckSheet} close={props.close} dirty={(newPlace.value ?? '') !== ''}>
			<h3>{t.allTrucks}</h3>
			<div class="choices">
				{trucks.value.map((x) => (
					<button
						key={x.id}
						type="button"
						aria-pressed={x.id === chosen}
						onClick={() => {
							chooseTruck(x.id);
							props.close();
						}}
					>
						{x.v.name}
						<span class="soft">{onIt(x.id)}</span>
					</button>
				))}
				<Button
					onClick={() => (newTruck.value = { name: t.truckNumber(allTrucks.value.length + 1), room: '' })}
					text={t.newTruck}
				/>
			</div>
			{newTruck.value && (
				<Form
					class="mend"
					submit={() => {
						const { name, room } = newTruck.value!;
						const n = keyed(room);
						const room_kg = n === null ? null : toKg(n);
						void unless(askValue('truck', 'room_kg', room_kg), t.yesSave(mass(room_kg)), async () => {
							const id = await putThing('truck', { name: name.trim(), room_kg });
							newTruck.value = null;
							chooseTruck(id);
							props.close();
						});
					}}
				>
					<Box
						label={t.columns.name!}
						value={newTruck.value.name}
						set={(v) => (newTruck.value = { ...newTruck.value!, name: v })}
					/>
					<Box
						label={t.columns.room_kg!}
						unit={massUnit()}
						numeric
						value={newTruck.value.room}
						set={(v) => (newTruck.value = { ...newTruck.value!, room: v })}
					/>
					<Button
						type="submit"
						class="main"
						disabled={
							newTruck.value.name.trim() === '' || (newTruck.value.room !== '' && keyed(newTruck.value.room) === null)
						}
						text={t.add}
					/>
				</Form>
			)}
			<h3>{t.goesTo}</h3>
			<div class="choices">
				{destinations.value.map((x) => (
					<Button
						key={x.id}
						aria-pressed={x.id === where}
						onClick={() => void setDestination(x.id === where ? null : x.id)}
						text={x.v.name}
					/>
				))}
				<Button onClick={() => (newPlace.value = '')} text={t.newPlace} />
			</div>
			{newPlace.value !== null && (
				<Form
					class="mend"
					submit={async () => {
						const id = await putThing('destination', { name: newPlace.value!.trim() });
						newPlace.value = null;
						await setDestination(id);
					}}
				>
					<Box label={t.columns.name!} value={newPlace.value} set={(v) => (newPlace.value = v)} />
					<Button type="submit" class="main" disabled={newPlace.value.trim() === ''} text={t.add} />
				</Form>
			)}
			{leftLast.length > 0 && (
				<>
					<h3>{t.leftBefore}</h3>
					<div class="choices">
						{leftLast.map((l) => (
							<button
								key={l.id}
								type="button"
								onClick={async () => {
									await reopen(l.id);
									props.close();
								}}
							>
								{t.reopen(truckLabel(l.id))}
								<span class="soft">{mass(loads.get(l.id)!.cart_kg)}</span>
							</button>
						))}
					</div>
				</>
			)}
			{open && (
				<details open={wrong.value} onToggle={(e) => (wrong.value = e.currentTarget.open)}>
					<summary>{t.wrongTruck(truckLabel(open.id))}</summary>
					<div class="choices">
						{trucks.value
							.filter((x) => x.id !== open.v.truck)
							.map((x) => (
								<Button
									key={x.id}
									onClick={async () => {
										await editThing(open.id, { truck: x.id }, '');
										wrong.value = false;
									}}
									text={x.v.name}
								/>
							))}
					</div>
				</details>
			)}
		</Sheet>
	);
}

/** Grain on a truck's open load. */
function onIt(truckId: string): string {
	const open = openLoads.value.findLast((l) => l.v.truck === truckId);
	return open ? t.onIt(mass(grain.value.loads.get(open.id)?.cart_kg ?? 0)) : '';
}
