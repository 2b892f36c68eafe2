/** Sheets that the pad opens: which truck, what else is known of a dump, how the monitor shows it. */
import { type Signal, signal } from '@preact/signals';
import { changeTruck, nextTruck, putThing } from '../model/acts.ts';
import { destinations, device, load, set, truck, trucks } from '../model/state.ts';
import { crop, fromKgHl, keyed, mass, massUnit, t, testWeightUnit, toKg, toKgHl, truckLabel } from '../model/words.ts';
import { Box, Menu, Pick, Sheet } from './parts.tsx';

const newTruck = signal<{ name: string; room: string } | null>(null);
const newPlace = signal<string | null>(null);

export function TruckSheet(props: { close: () => void }) {
	const chosen = truck.value?.id ?? null;
	const where = load.value ? load.value.v.destination : device.value.destination;
	return (
		<Sheet title={t.truckSheet} close={props.close}>
			{load.value && (
				<button
					type="button"
					class="main large"
					onClick={async () => {
						await nextTruck(chosen, where);
						props.close();
					}}
				>
					{t.truckGone(truckLabel(load.value.id))}
				</button>
			)}
			<h3>{load.value ? t.thisTruckIs : t.nextTruckIs}</h3>
			<div class="choices">
				{trucks.value.map((x) => (
					<button key={x.id} type="button" aria-pressed={x.id === chosen} onClick={() => void changeTruck(x.id, where)}>
						{x.v.name}
					</button>
				))}
				<button type="button" onClick={() => (newTruck.value = { name: `Truck ${trucks.value.length + 1}`, room: '' })}>
					{t.newTruck}
				</button>
			</div>
			{newTruck.value && (
				<form
					class="mend"
					noValidate
					onSubmit={async (e) => {
						e.preventDefault();
						const { name, room } = newTruck.value!;
						const n = keyed(room);
						const id = await putThing('truck', { name: name.trim(), room_kg: n === null ? null : toKg(n) });
						newTruck.value = null;
						await changeTruck(id, where);
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
					<button type="submit" class="main" disabled={newTruck.value.name.trim() === ''}>
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
						onClick={() => void changeTruck(chosen, x.id === where ? null : x.id)}
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
						await changeTruck(chosen, id);
					}}
				>
					<Box label={t.columns.name!} value={newPlace.value} set={(v) => (newPlace.value = v)} />
					<button type="submit" class="main" disabled={newPlace.value.trim() === ''}>
						{t.add}
					</button>
				</form>
			)}
		</Sheet>
	);
}

/** Moisture, test weight, variety and a note: for the dump that comes next. */
export function DumpMore(props: {
	extras: Signal<{ moisture_pct: number | null; testWeight_kg_hl: number | null; note: string | null }>;
	/** What the scale shows just now, keyed or live. */
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

/** A number that keeps what is typed until it reads as one. */
function Number_(props: { label: string; unit: string; value: number | null; set: (v: number | null) => void }) {
	return (
		<Box
			label={props.label}
			unit={props.unit}
			numeric
			value={props.value === null ? '' : String(Math.round(props.value * 100) / 100)}
			set={(text) => {
				const n = keyed(text);
				if (text === '' || n !== null) props.set(n);
			}}
		/>
	);
}

/** How the monitor shows its loads: said once, kept on this device. */
export function MonitorHow(props: { close: () => void }) {
	const m = device.value.monitor;
	const change = (x: Partial<typeof m>) => set('monitor', { ...m, ...x });
	return (
		<Sheet title={t.monitorHow} close={props.close}>
			<div class="mend">
				<Pick<'load' | 'total'>
					label={t.columns.how!}
					options={[
						['load', t.aLoad],
						['total', t.aTotal],
					]}
					value={m.how}
					choose={(how) => change({ how })}
				/>
				<p class="soft">{m.how === 'load' ? t.aLoadMeans : t.aTotalMeans}</p>
				<Menu
					label={t.columns.unit!}
					value={m.unit}
					options={['lb', 'bu', 'kg', 't'].map((u) => [u, u] as const)}
					set={(u) => change({ unit: u as typeof m.unit })}
				/>
				<Pick<'wet' | 'dry'>
					label={t.columns.basis!}
					options={[
						['wet', t.wet],
						['dry', t.dry],
					]}
					value={m.basis}
					choose={(basis) =>
						change({ basis, at_pct: basis === 'dry' ? (m.at_pct ?? crop().market_moisture_pct) : null })
					}
				/>
				{m.basis === 'dry' && (
					<>
						<Number_ label={t.dryAt} unit="%" value={m.at_pct} set={(at_pct) => change({ at_pct })} />
						<p class="soft">{t.dryMeans}</p>
					</>
				)}
				<button type="button" class="main" onClick={props.close}>
					{t.done}
				</button>
			</div>
		</Sheet>
	);
}
