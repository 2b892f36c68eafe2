/** A question that no file answers, as a form field. */
import { useId } from 'preact/hooks';
import { answer } from '../engine/answer.ts';
import { own } from '../state/format.ts';
import { imports as t } from '../strings/import.ts';
import { answers } from './state.ts';
import type { SeenField } from './understood.ts';

type Asked = SeenField['questions'][number];

export function QuestionField(props: { question: Asked; place: string }) {
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
