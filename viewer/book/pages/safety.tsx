/** Safety cautions, on the pages where they apply. */
import { t } from '../model/words.ts';

export function SafetyPage() {
	return (
		<div class="page">
			<h2>{t.safety.title}</h2>
			{t.safety.points.map(([head, text]) => (
				<section key={head} class="card caution">
					<h3>{head}</h3>
					<p>{text}</p>
				</section>
			))}
		</div>
	);
}
