/**
 * The page: one shell, four views. Preact draws it from the signals in state/; each view comes by
 * dynamic import, so that the first picture fetches only the map. The load book is viewer/book/index.tsx and
 * exports `Book`, a component without props.
 */
import { effect, type Signal, signal } from '@preact/signals';
import { type ComponentType, render } from 'preact';
import './style/base.css';
import './style/work.css';
import { stop } from './engine/client.ts';
import { start } from './engine/open.ts';
import { Drop } from './import/drop.tsx';
import { Choice } from './inputs.tsx';
import { FieldMenu, WorkBar } from './panels/work/menu.tsx';
import { Shell } from './shell.tsx';
import { scene } from './state/field.ts';
import { show, type View, view } from './state/settings.ts';
import { strings } from './strings/index.ts';

const t = strings.shell;
const rooms: Record<View, () => Promise<ComponentType>> = {
	map: async () => (await import('./map/index.tsx')).MapView,
	compare: async () => (await import('./panels/compare/index.tsx')).Compare,
	print: async () => (await import('./panels/print/index.tsx')).Print,
	book: async () => (await import('./book/index.tsx')).Book,
};
const loaded = signal<Partial<Record<View, ComponentType>>>({});

function room(name: View, from: Signal<Partial<Record<View, ComponentType>>>): ComponentType | null {
	const found = from.value[name];
	if (found) return found;
	rooms[name]().then((c) => (from.value = { ...from.value, [name]: c }));
	return null;
}

effect(() => {
	const name = scene.value?.facts.field.name;
	document.title = name ? `${name} · ${t.name}` : t.name;
});

function Page() {
	const Room = room(view.value, loaded);
	return (
		<Shell
			title={
				<>
					<h1>{t.name}</h1>
					{view.value !== 'book' && <FieldMenu />}
				</>
			}
			bar={view.value === 'book' ? null : <WorkBar stop={stop} />}
			views={
				<nav aria-label={t.views}>
					<Choice
						label={t.views}
						options={[
							['map', t.map],
							['compare', t.compare],
							['print', t.print],
							['book', t.book],
						]}
						value={view.value}
						choose={show}
					/>
				</nav>
			}
		>
			{view.value !== 'book' && <Drop />}
			{Room ? <Room /> : <p class="soft">{t.loading}</p>}
		</Shell>
	);
}

// The field is fetched while the map's code still loads.
start(import.meta.env.MODE !== 'tablet');

render(<Page />, document.getElementById('page')!);
