-- Why: of an animal bought without papers a keeper knows what it shows and nothing of what it hides. How common a gene is
-- among such animals can be told, a gene at a time; where nothing is told they carry nothing, as before.
--
-- The release before knows nothing of this table and leaves it alone. `keep` learns of it in the next step.

create table carrier_frequency (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    species text not null,
    gene text not null constraint gene_is_an_id check (gene ~ '^[a-z0-9_]{1,60}$'),
    -- The share of normal-looking animals of unknown parents that carry it, as an exact fraction.
    share text not null constraint share_is_a_fraction check (share ~ '^[0-9]{1,99}/[0-9]{1,99}$'),
    constraint carrier_frequency_key primary key (keeper_id, id),
    constraint carrier_frequency_once unique (keeper_id, species, gene) deferrable
);
alter table carrier_frequency enable row level security;
create policy own on carrier_frequency using (keeper_id = (select keeper_now()));
grant select, insert, update, delete on carrier_frequency to hatchward_keeper;
