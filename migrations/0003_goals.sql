-- Why: a goal is worked towards for years, so it has a name, a rank among the others, and limits (year, money, room).
-- And a clutch may have one of several fathers, or several: sperm is stored, and males are swapped.
--
-- All of it may be missing: rows written before, and by the release before, have none.

alter table goal
    add column name text constraint goal_name_is_short check (length(name) between 1 and 80),
    add column rank smallint constraint rank_is_sane check (rank between 1 and 99),
    -- {"by_year", "budget_cents", "clutches", "room", "without", "kinship", "start", "pair"}
    add column limits jsonb constraint limits_are_an_object check (jsonb_typeof(limits) = 'object');

-- {"of": [{"id", "chance"}], "mixed"}: the males that may be the father, chance as an exact fraction; with mixed each
-- young has its own. Where it is set the clutch has no other father.
alter table clutch
    add column sires jsonb constraint sires_are_an_object check (jsonb_typeof(sires) = 'object'),
    add constraint sire_is_one_or_several check (sires is null or (sire_id is null and sire_out is null));
