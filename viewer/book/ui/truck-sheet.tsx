/** Sheet opened from the pad: choice of truck. */
import { signal } from '@preact/signals';
import { keptAll, type Thing } from '../../../lib/book/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { chooseTruck, editThing, putThing, reopen, setDestination } from '../model/acts.ts';
import { askValue, unless } from '../model/asks.ts';
import { allTrucks, book, destinations, device, grain, load, openLoads, truck, trucks } from '../model/state.ts';
import { keyed, mass, massUnit, t, toKg, truckLabel } from '../model/words.ts';
import { Box, Sheet } from './parts.tsx';

const newTruck = signal<{ name: string; room: string } | null>(null);

const newPlace = signal<string | null>(null);

const wrong = signal(false);

export function TruckSheet({ close }: { close: () => void }) {
	return (
		<Sheet title={t.truckSheet} close={close} dirty={(newPlace.value ?? '') !== ''}>
			<h3>{t.allTrucks}</h3>
			<div class="choices">
				{trucks.value.map((x) => (
					<Tap
						key={x.id}
						pressed={x.id === truck.value?.id}
						act={() => {
							chooseTruck(x.id);
							close();
						}}
						name={x.v.name}
						note={onIt(x.id)}
					/>
				))}
				<Button
					onClick={() => (newTruck.value = { name: t.truckNumber(allTrucks.value.length + 1), room: '' })}
					text={t.newTruck}
				/>
			</div>
			{newTruck.value && <NewTruck {...newTruck.value} close={close} />}
			<GoesTo />
			<LeftBefore close={close} />
			{load.value && <WrongTruck open={load.value} />}
		</Sheet>
	);
}

/** A choice of a sheet, with a note beside its name. */
function Tap(props: { name: string; note: string; act: () => unknown; pressed?: boolean }) {
	return (
		<button type="button" aria-pressed={props.pressed} onClick={() => void props.act()}>
			{props.name}
			<span class="soft">{props.note}</span>
		</button>
	);
}

function NewTruck(props: { name: string; room: string; close: () => void }) {
	const { name, room, close } = props;
	const n = keyed(room);
	const room_kg = n === null ? null : toKg(n);
	const put = (x: { name?: string; room?: string }) => (newTruck.value = { name, room, ...x });
	return (
		<Form
			class="mend"
			submit={() =>
				unless(askValue('truck', 'room_kg', room_kg), t.yesSave(mass(room_kg)), async () => {
					const id = await putThing('truck', { name: name.trim(), room_kg });
					newTruck.value = null;
					chooseTruck(id);
					close();
				})
			}
		>
			<Box label={t.columns.name!} value={name} set={(v) => put({ name: v })} />
			<Box label={t.columns.room_kg!} unit={massUnit()} numeric value={room} set={(v) => put({ room: v })} />
			<Button type="submit" class="main" disabled={name.trim() === '' || (room !== '' && n === null)} text={t.add} />
		</Form>
	);
}

/** Where the truckload goes: the open one, or the next. */
function GoesTo() {
	const where = load.value ? load.value.v.destination : device.value.destination;
	return (
		<>
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
		</>
	);
}

/** The truckloads closed last, to reopen one that was closed by mistake. */
function LeftBefore({ close }: { close: () => void }) {
	const { loads } = grain.value;
	const last = keptAll(book.value, 'load')
		.filter((l) => l.v.closed && (loads.get(l.id)?.cart_kg ?? 0) > 0)
		.slice(-3)
		.reverse();
	if (last.length === 0) return null;
	return (
		<>
			<h3>{t.leftBefore}</h3>
			<div class="choices">
				{last.map((l) => (
					<Tap
						key={l.id}
						act={async () => {
							await reopen(l.id);
							close();
						}}
						name={t.reopen(truckLabel(l.id))}
						note={mass(loads.get(l.id)!.cart_kg)}
					/>
				))}
			</div>
		</>
	);
}

/** The open truckload was put on another truck than is entered. */
function WrongTruck({ open }: { open: Thing<'load'> }) {
	return (
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
	);
}

/** Grain on a truck's open load. */
function onIt(truckId: string): string {
	const open = openLoads.value.findLast((l) => l.v.truck === truckId);
	return open ? t.onIt(mass(grain.value.loads.get(open.id)?.cart_kg ?? 0)) : '';
}
