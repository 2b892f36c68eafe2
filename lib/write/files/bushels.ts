import type { RunOfRecords } from '../../model/index.ts';
import { shown } from '../../units/index.ts';

/** Yields in bushels per acre in addition to kg/ha: extra columns after the usual ones, on request. */
export const BUSHEL_COLUMNS = ['monitor_yield_bu_ac', 'yield_bu_ac'] as const;

/** Factor from a yield in kg/ha to bushels per acre of the field's crop. */
export const perAcre = (run: { field: Pick<RunOfRecords['field'], 'plan'> }): number =>
	shown('yield', 'us', run.field.plan.crop).factor;
