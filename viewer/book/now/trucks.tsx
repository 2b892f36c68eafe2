import { Button } from '../../inputs.tsx';
import { chooseTruck, truckLeft } from '../model/acts.ts';
import { cart, device, grain, level_kg, load, onTruck_kg, openLoads, room_kg, truck, trucks } from '../model/state.ts';
import { mass, massNumber, massUnit, nameOfThing, t, truckLabel } from '../model/words.ts';
import { overlay } from './desk.ts';

export function Figures() {
	const size = cart.value!.v.size_kg;
	return (
		<>
			<div class="figures">
				<div class="figure">
					<span class="name">{t.inCart}</span>
					<output class="huge">
						{massNumber(level_kg.value)} <small>{massUnit()}</small>
					</output>
					{size !== null && <Gauge share={level_kg.value / size} />}
				</div>
				<Truck />
			</div>
			<Beside />
		</>
	);
}

/** The truck beside the cart, with a prominent warning over its limit. */
function Truck() {
	const room = room_kg.value;
	const over = room !== null && room < 0;
	const where = load.value ? load.value.v.destination : device.value.destination;
	return (
		<button type="button" class={over ? 'figure press over' : 'figure press'} onClick={() => (overlay.value = 'truck')}>
			<span class="name" role={over ? 'alert' : undefined}>
				{!truck.value
					? t.noTruck
					: over
						? t.overBy(truck.value.v.name, mass(-room))
						: room === null
							? t.onTruck(truck.value.v.name)
							: t.truckTakes(truck.value.v.name)}
			</span>
			<span class="huge">
				{over ? '−' : ''}
				{massNumber(room === null ? onTruck_kg.value : Math.abs(room))} <small>{massUnit()}</small>
			</span>
			<span class="name">
				{load.value ? truckLabel(load.value.id) : t.nextLoad}
				{room !== null && onTruck_kg.value > 0 && ` · ${t.onIt(mass(onTruck_kg.value))}`}
				{where !== null && ` → ${nameOfThing(where)}`}
			</span>
		</button>
	);
}

/** Number of chips shown; the rest is in the sheet. */
const IN_SIGHT = 3;

/** Trucks to switch between with one tap, and the button for a truck that leaves. */
function Beside() {
	const chosen = truck.value?.id ?? null;
	const open = openLoads.value.map((l) => l.v.truck).filter((x): x is string => x !== null);
	const order = [
		...new Set([...(chosen === null ? [] : [chosen]), ...open.reverse(), ...trucks.value.map((x) => x.id)]),
	];
	const inSight = order.slice(0, IN_SIGHT);
	// In a fixed order, so that a tap does not move the buttons.
	const shown = trucks.value.filter((x) => inSight.includes(x.id));
	if (trucks.value.length < 2 && !load.value) return null;
	return (
		// biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as one row of large targets.
		<div class="beside" role="group" aria-label={t.trucks}>
			{trucks.value.length > 1 &&
				shown.map((x) => (
					<button key={x.id} type="button" aria-pressed={x.id === chosen} onClick={() => chooseTruck(x.id)}>
						<span class="called">{x.v.name}</span>
						{standing(x.id) > 0 && <span class="soft">{massNumber(standing(x.id))}</span>}
					</button>
				))}
			{trucks.value.length > IN_SIGHT && <Button onClick={() => (overlay.value = 'truck')} text={t.moreTrucks} />}
			{load.value && (
				<Button
					class="leaves"
					onClick={() => void truckLeft()}
					text={t.left(nameOfThing(load.value.v.truck) || t.loadNumber(load.value.v.number))}
				/>
			)}
		</div>
	);
}

/** Grain on a truck's open load, kg. */
function standing(truckId: string): number {
	const open = openLoads.value.findLast((l) => l.v.truck === truckId);
	return open ? (grain.value.loads.get(open.id)?.cart_kg ?? 0) : 0;
}

function Gauge(props: { share: number }) {
	const share = Math.max(0, Math.min(1, props.share));
	return (
		<svg
			class={props.share > 1 ? 'gauge over' : 'gauge'}
			viewBox="0 0 100 6"
			preserveAspectRatio="none"
			aria-hidden="true"
		>
			<rect class="whole" width="100" height="6" />
			<rect class="part" width={100 * share} height="6" />
		</svg>
	);
}
