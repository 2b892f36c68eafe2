import { fuzz } from './campaign.ts';

fuzz(10000, 10_000);
