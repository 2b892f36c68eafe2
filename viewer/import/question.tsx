/** Questions that no file answers, as form fields. */
import { useId } from 'preact/hooks';
import { answer } from '../engine/answer.ts';
import { own } from '../state/format.ts';
import { imports as t } from '../strings/import.ts';
import { answers, seen } from './state.ts';
import type { SeenField } from './understood.ts';

type Asked = SeenField['questions'][number];

export function Questions(props: { of: readonly Asked[]; field: SeenField }) {
	return (
		<>
			{props.of.map((q) => (
				<QuestionField key={`${q.file}${q.about}`} question={q} place={placeOf(q, props.field)} />
			))}
		</>
	);
}

/** Questions about columns, whose answers also apply to next year's file: saved by the signature of the header. */
const LASTING = /^(unit of|basis of yield|date order|position|time: seconds per record|combine: header width|as )/;

/** Where an answer is saved: with the field, the file, or every file with the same columns. */
function placeOf({ about, file }: Asked, field: SeenField): string {
	if (about === 'crop' || file === null) return field.folder;
	if (!LASTING.test(about)) return file;
	return seen.value?.sources.find((s) => s.file === file)?.signature ?? file;
}

function QuestionField(props: { question: Asked; place: string }) {
	const { question: q, place } = props;
	const id = useId();
	const said = answers.value[place]?.[q.about];
	const now = typeof said === 'string' ? said : (q.taken ?? '');
	const put = (value: string) => {
		if (value.trim() !== '' && value !== now) answer(place, q.about, value.trim());
	};
	return (
		<div class="question" data-blocking={q.blocking || undefined}>
			<label for={id}>{own(q.text)}</label>
			{q.choices.length > 0 ? (
				<select id={id} value={q.choices.includes(now) ? now : ''} onChange={(e) => put(e.currentTarget.value)}>
					{!q.choices.includes(now) && (
						<option value="" disabled>
							{t.choose}
						</option>
					)}
					{q.choices.map((c) => (
						<option key={c} value={c}>
							{c}
						</option>
					))}
				</select>
			) : (
				<form
					class="row"
					onSubmit={(e) => {
						e.preventDefault();
						put(new FormData(e.currentTarget).get('answer') as string);
					}}
				>
					<input id={id} name="answer" defaultValue={typeof said === 'string' ? said : ''} />
					<button type="submit">{t.set}</button>
				</form>
			)}
			{q.taken !== null && typeof said !== 'string' && !q.choices.includes(now) && (
				<span class="small soft">{own(t.taken(q.taken))}</span>
			)}
		</div>
	);
}
