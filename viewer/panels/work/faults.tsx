/** Every error of the input, and how to continue where possible. */

import { guarded, unmapped } from '../../engine/open.ts';
import { Button } from '../../inputs.tsx';
import { scene, status } from '../../state/field.ts';
import { strings } from '../../strings/index.ts';
import { Lines } from '../../table.tsx';

export function Faults(props: { faults: string[] }) {
	const t = strings.work;
	return (
		<div role="alert">
			<h2>{strings.shell.failed}</h2>
			<Lines class="faults" of={props.faults} />
			<div class="row">
				{unmapped.value && (
					<Button
						class="main"
						onClick={() => {
							const files = unmapped.value!.filter((f) => !/(^|\/)field\.json$/.test(f.name));
							unmapped.value = null;
							status.value = { kind: 'working', stage: 'open', share: 0 };
							guarded(async () => (await import('../../engine/check.ts')).check(files), null);
						}}
						text={t.nameColumns}
					/>
				)}
				{scene.value && <Button onClick={() => (status.value = { kind: 'open' })} text={t.gotIt} />}
			</div>
		</div>
	);
}
