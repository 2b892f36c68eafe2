/** Sheets opened from the pad: choice of truck, details of a dump, monitor settings. */
import { type Signal, signal, useSignal } from '@preact/signals';
import { keptAll, type MonitorSetup } from '../../../lib/book/index.ts';
import { chooseTruck, editThing, monitorOf, putThing, reopen, setDestination } from '../model/acts.ts';
import { askValue, unless } from '../model/asks.ts';
import { allTrucks, book, destinations, device, grain, load, openLoads, set, truck, trucks } from '../model/state.ts';
import {
	crop,
	fromKgHl,
	inBox,
	keyed,
	mass,
	massUnit,
	nameOfThing,
	t,
	testWeightUnit,
	toKg,
	toKgHl,
	truckLabel,
} from '../model/words.ts';
import { Box, Pick, Sheet } from './parts.tsx';

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
				<button
					type="button"
					onClick={() => (newTruck.value = { name: t.truckNumber(allTrucks.value.length + 1), room: '' })}
				>
					{t.newTruck}
				</button>
			</div>
			{newTruck.value && (
				<form
					class="mend"
					noValidate
					onSubmit={(e) => {
						e.preventDefault();
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
					<button
						type="submit"
						class="main"
						disabled={
							newTruck.value.name.trim() === '' || (newTruck.value.room !== '' && keyed(newTruck.value.room) === null)
						}
					>
						{t.add}
					</button>
				</form>
			)}
			<h3>{t.goesTo}</h3>
			<div class="choices">
				{destinations.value.map((x) => (
					<button
						key={x.id}
						type="button"
						aria-pressed={x.id === where}
						onClick={() => void setDestination(x.id === where ? null : x.id)}
					>
						{x.v.name}
					</button>
				))}
				<button type="button" onClick={() => (newPlace.value = '')}>
					{t.newPlace}
				</button>
			</div>
			{newPlace.value !== null && (
				<form
					class="mend"
					noValidate
					onSubmit={async (e) => {
						e.preventDefault();
						const id = await putThing('destination', { name: newPlace.value!.trim() });
						newPlace.value = null;
						await setDestination(id);
					}}
				>
					<Box label={t.columns.name!} value={newPlace.value} set={(v) => (newPlace.value = v)} />
					<button type="submit" class="main" disabled={newPlace.value.trim() === ''}>
						{t.add}
					</button>
				</form>
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
								<button
									key={x.id}
									type="button"
									onClick={async () => {
										await editThing(open.id, { truck: x.id }, '');
										wrong.value = false;
									}}
								>
									{x.v.name}
								</button>
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
				<button type="button" class="main" onClick={props.close}>
					{t.done}
				</button>
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
			<button type="button" disabled={shows_kg === null} onClick={() => void props.zeroed(shows_kg!)}>
				{shows_kg === null ? t.zeroKeyFirst : t.zeroHere(mass(shows_kg))}
			</button>
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
			<button type="button" class="main large" onClick={props.close}>
				{t.done}
			</button>
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
