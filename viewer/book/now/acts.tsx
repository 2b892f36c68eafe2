/** The last action on this device and field: what Undo would revert, what it reverted, and how to redo it. */

import { Button } from '../../inputs.tsx';
import { type Act, field } from '../model/state.ts';
import { canUndo, fieldActs, redoAct, redoable, undoAct } from '../model/undo.ts';
import { t, when } from '../model/words.ts';
import { Sheet } from '../ui/parts.tsx';
import { overlay } from './desk.ts';

/** Shown until the next action. */
export function Undone() {
	const head = fieldActs.value[0];
	const last = redoable.value;
	if (!head?.undone || !last) return null;
	return (
		<div class="undone" role="status">
			<span>{t.undone(last.label)}</span>
			<Button aria-label={t.redoThis(last.label)} onClick={() => void redoAct(last)} text={t.redo} />
			<Button onClick={() => (overlay.value = 'acts')} text={t.history} />
		</div>
	);
}

export function ActsSheet(props: { close: () => void }) {
	return (
		<Sheet title={t.lastActsField(field.value?.v.name ?? '')} close={props.close}>
			{fieldActs.value.length === 0 && <p class="soft">{t.noActs}</p>}
			<ul class="acts">
				{fieldActs.value.slice(0, 20).map((a) => (
					<Line key={a.id} act={a} />
				))}
			</ul>
		</Sheet>
	);
}

function Line(props: { act: Act }) {
	const a = props.act;
	return (
		<li class={a.undone ? 'taken-back' : ''}>
			<span>
				{a.label} <span class="soft">{when(a.at_s)}</span>
				{a.undone && <b> {t.isUndone}</b>}
			</span>
			{a.undone ? (
				<Button aria-label={t.redoThis(a.label)} onClick={() => void redoAct(a)} text={t.redo} />
			) : canUndo(a) ? (
				<Button aria-label={t.undoThis(a.label)} onClick={() => void undoAct(a)} text={t.undo} />
			) : (
				<span class="soft">{t.laterFirst}</span>
			)}
		</li>
	);
}
