-- Why: the first cut egg is a sign of its own. It narrows the days of hatching to the next few, and is not the hatch.
--
-- The release before reads a clutch without this column; if it changes such a clutch, the day of the pip is lost, and the
-- days of hatching are counted from the laying again.

alter table clutch add column pipped day_said;
