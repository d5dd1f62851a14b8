-- Why: of an animal bought without papers a keeper knows what it shows and nothing of what it hides. How common a gene is
-- among such animals can be told, a gene at a time; where nothing is told they carry nothing, as before.
--
-- The release before knows nothing of this table and leaves it alone; `keep` takes what it took, and this as well.

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

create or replace function keep(what text, sentence text, asked text, rows jsonb)
    returns table (change_id bigint, sentence_before text) language plpgsql as $$
declare
    me bigint := keeper_now();
    this bigint;
    item jsonb;
    place integer := 0;
    target text;
    old jsonb;
    new jsonb;
begin
    -- One change of a keeper at a time: two devices wait for each other here.
    perform 1 from keeper where keeper.id = me for update;
    if not found then
        raise exception 'nobody is on hand' using errcode = 'HW401';
    end if;
    if asked is not null then
        return query select change.id, change.said from change where change.keeper_id = me and change.once = asked;
        if found then
            return;
        end if;
    end if;
    set constraints all deferred;
    insert into change (keeper_id, kind, said, once) values (me, what, sentence, asked) returning change.id into this;
    for item in select * from jsonb_array_elements(rows) loop
        place := place + 1;
        target := item ->> 'kind';
        if not target = any (array['animal', 'weight', 'meal', 'sign', 'meeting', 'clutch', 'goal', 'carrier_frequency']) then
            raise exception 'no such kind of record: %', target using errcode = 'HW400';
        end if;
        execute format('select to_jsonb(t) from %I t where keeper_id = $1 and id = $2', target)
            into old using me, (item ->> 'id')::bigint;
        if (old ->> 'version')::integer is distinct from (item ->> 'seen')::integer then
            raise exception 'changed meanwhile' using errcode = 'HW409', detail = target || ' ' || (item ->> 'id');
        end if;
        new := case when jsonb_typeof(item -> 'row') = 'object' then (item -> 'row') || jsonb_build_object(
            'keeper_id', me, 'id', (item ->> 'id')::bigint, 'version', coalesce((item ->> 'seen')::integer, 0) + 1) end;
        perform write_row(target, (item ->> 'id')::bigint, old, new);
        insert into change_row values (me, this, place, target, (item ->> 'id')::bigint, old, new);
        if target = 'animal' and old is null then
            update keeper set next_number = greatest(next_number, (new ->> 'number')::integer + 1) where keeper.id = me;
        end if;
    end loop;
    set constraints all immediate;
    -- What is older than 30 days and not among the last 50 can no longer be taken back.
    delete from change where change.keeper_id = me and change.at < now() - interval '30 days' and change.id not in
        (select c.id from change c where c.keeper_id = me order by c.id desc limit 50);
    return query select this, null::text;
end
$$;
