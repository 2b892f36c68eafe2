import { fuzz } from './campaign.ts';

fuzz(10_000);
