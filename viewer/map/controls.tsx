/** Controls: map layer, before or after, swipe line, lines on top. */
import { Button, Choice, Select } from '../inputs.tsx';
import { strings } from '../strings/index.ts';
import { layers } from './layers/layers.ts';
import { before, layer, layerId, overlays, swipe, tool } from './state.ts';
import { chooseCombine, chooseFill, chooseFlag } from './tools/select.ts';
import { SelectBy } from './tools/selection.tsx';

const t = strings.map;

export function Controls() {
	return (
		<div class="map-controls">
			<label class="row">
				<span class="soft small">{t.layer}</span>
				<Select
					value={layerId.value}
					options={layers.map((l) => [l.id, t.layers[l.id]])}
					set={(id) => (layerId.value = id)}
				/>
			</label>
			{layer.value.before && (
				<>
					<Choice
						label={t.beforeAfter}
						options={[
							['before', t.asRecorded],
							['after', t.corrected],
						]}
						value={before.value ? 'before' : 'after'}
						choose={(v) => {
							swipe.value = null;
							before.value = v === 'before';
						}}
					/>
					<Button
						aria-pressed={swipe.value !== null}
						onClick={() => (swipe.value = swipe.value === null ? 0.5 : null)}
						text={t.swipe}
					/>
				</>
			)}
			<Button
				aria-pressed={overlays.value.seams}
				onClick={() => (overlays.value = { ...overlays.value, seams: !overlays.value.seams })}
				text={t.seams}
			/>
			<Button
				aria-pressed={overlays.value.contours}
				onClick={() => (overlays.value = { ...overlays.value, contours: !overlays.value.contours })}
				text={t.contours}
			/>
			<Choice
				label={t.tools}
				options={[
					['move', t.toolMove],
					['select', t.toolSelect],
					['profile', t.toolProfile],
				]}
				value={tool.value}
				choose={(v) => (tool.value = v)}
			/>
			<SelectBy
				choose={(kind, index, label) => {
					if (kind === 'combine') chooseCombine(index, label);
					else if (kind === 'fill') chooseFill(index, label);
					else chooseFlag(index, label);
				}}
			/>
		</div>
	);
}
