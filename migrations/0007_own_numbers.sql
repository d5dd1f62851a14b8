-- Why: the days of a season (pre-lay shed to laying, incubation) and the temperature of the eggs are defaults of common
-- practice. A keeper's own room differs, and so does a single clutch: what they tell, or the median of their own records,
-- stands in place of the default.
--
-- The release before knows nothing of this table and leaves it alone; `keep` takes it for a kind of record by its columns.

create table own_number (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    species text not null,
    -- The clutch that it is of; null: it goes for the species.
    clutch_id bigint,
    item text not null constraint item_is_a_care_number check (item ~ '^[a-z_]{1,40}$'),
    -- All in tenths of the item's unit.
    usual smallint not null constraint usual_is_sane check (usual between 0 and 32000),
    low smallint constraint low_is_sane check (low between 0 and usual),
    high smallint constraint high_is_sane check (high between usual and 32000),
    -- Of so many own records it is the median; null: it was told.
    records smallint constraint records_are_counted check (records between 1 and 9999),
    constraint own_number_key primary key (keeper_id, id),
    constraint own_number_once unique nulls not distinct (keeper_id, species, clutch_id, item) deferrable,
    constraint own_number_is_of_a_clutch foreign key (keeper_id, clutch_id) references clutch deferrable
);
alter table own_number enable row level security;
create policy own on own_number using (keeper_id = (select keeper_now()));
grant select, insert, update, delete on own_number to hatchward_keeper;
