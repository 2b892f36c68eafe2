/** Import of unprepared files: how they were read, on a map and in tables, with reasons and questions; then the map. */
import { useEffect, useRef } from 'preact/hooks';
import { CROPS } from '../../lib/units/index.ts';
import { answer } from '../engine/answer.ts';
import { scene, status } from '../state/field.ts';
import { imports as t } from '../strings/import.ts';
import { FieldCard } from './field.tsx';
import { SourceCard } from './source.tsx';
import { answers, checking, rereading, seen } from './state.ts';
import { UsedAs } from './use.tsx';
import '../style/import.css';
import { Button } from '../inputs.tsx';

export function Check() {
	const heading = useRef<HTMLHeadingElement>(null);
	// Whoever works by keyboard starts at what was read, and goes on in the view that takes its place.
	useEffect(() => {
		heading.current?.focus();
		return () => document.querySelector('main')?.focus();
	}, []);
	const s = seen.value;
	if (!s) return null;
	const used = s.sources.filter((x) => x.use !== 'none');
	const unused = s.sources.filter((x) => x.use === 'none');
	const cropless = s.fields.filter((f) => f.questions.some((q) => q.about === 'crop'));
	return (
		<div class="check" aria-busy={rereading.value}>
			<header>
				<h2 class="field-name" ref={heading} tabIndex={-1}>
					{t.title}
				</h2>
				<p class="soft">{s.fields.length === 0 ? t.nothing : t.lead}</p>
				{cropless.length > 1 && (
					<label class="crop-all">
						{t.cropAll}
						<select
							value={String(answers.value['*']?.crop ?? '')}
							onChange={(e) => answer('*', 'crop', e.currentTarget.value)}
						>
							<option value="" disabled>
								{t.choose}
							</option>
							{CROPS.map((c) => (
								<option key={c.name} value={c.name}>
									{c.name}
								</option>
							))}
						</select>
					</label>
				)}
			</header>
			<p role="status" class="soft rereading">
				{rereading.value ? t.reading : ''}
			</p>
			{s.fields.map((f) => (
				<FieldCard key={f.folder} field={f} alone={s.fields.length === 1} />
			))}
			{used.length > 0 && (
				<section aria-labelledby="files-read">
					<h2 id="files-read">{t.files}</h2>
					{used.map((x) => (
						<SourceCard key={x.file} source={x} open={used.length <= 3 && x.columns.length > 0} />
					))}
				</section>
			)}
			{unused.length > 0 && (
				<section aria-labelledby="files-unused">
					<h2 id="files-unused">{t.unused}</h2>
					<ul class="unused">
						{unused.map((x) => (
							<li key={x.file}>
								<strong>{x.file}</strong> {x.why} <UsedAs source={x} />
							</li>
						))}
					</ul>
				</section>
			)}
			{s.setAsideCount > 0 && (
				<details>
					<summary>{t.leftOut(s.setAsideCount)}</summary>
					<ul class="plain-list small">
						{s.setAside.map((r, k) => (
							<li key={k}>
								{[r.file, r.row === null ? '' : t.row(r.row), r.column ?? ''].filter((x) => x !== '').join(', ')}:{' '}
								{r.why}
								{r.found === '' ? '' : ` (${r.found})`}
							</li>
						))}
					</ul>
					{s.setAsideCount > s.setAside.length && <p>{t.leftOutMore(s.setAsideCount - s.setAside.length)}</p>}
				</details>
			)}
			<div class="row">
				<Button
					onClick={() => {
						checking.value = false;
						status.value = scene.value ? { kind: 'open' } : { kind: 'empty' };
					}}
					text={t.cancel}
				/>
			</div>
		</div>
	);
}
