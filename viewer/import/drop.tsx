/** Accepts files dropped anywhere on the page. */
import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { openFiles } from '../engine/open.ts';
import { strings } from '../strings/index.ts';
import { fromDrop } from './gather.ts';

const over = signal(false);

export function Drop() {
	useEffect(() => {
		const files = (e: DragEvent) => [...(e.dataTransfer?.types ?? [])].includes('Files');
		const drag = (e: DragEvent) => {
			if (!files(e)) return;
			e.preventDefault();
			over.value = true;
		};
		const leave = (e: DragEvent) => {
			if (e.relatedTarget === null) over.value = false;
		};
		const drop = (e: DragEvent) => {
			if (!files(e) || !e.dataTransfer) return;
			e.preventDefault();
			over.value = false;
			const images = [...e.dataTransfer.files].filter((f) => /\.(pmtiles|png|jpe?g|webp)$/i.test(f.name));
			if (images.length > 0 && images.length === e.dataTransfer.files.length) {
				import('../map/layers/backdrop.ts').then((m) => m.takeBackdrop(images));
				return;
			}
			fromDrop(e.dataTransfer).then((given) => openFiles(given));
		};
		addEventListener('dragover', drag);
		addEventListener('dragleave', leave);
		addEventListener('drop', drop);
		return () => {
			removeEventListener('dragover', drag);
			removeEventListener('dragleave', leave);
			removeEventListener('drop', drop);
		};
	}, []);
	return over.value ? <div class="drop">{strings.work.dropHere}</div> : null;
}
