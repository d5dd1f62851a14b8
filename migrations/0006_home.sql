-- Why: "today", "at 18:00" and "when do I start cooling" mean something only where the keeper is: their time zone, and on
-- which half of the world they keep. Both are told by the keeper, both may be missing.
--
-- `keep` learns of it by asking the catalogue: whatever has a keeper, an id and a version is a kind of record. So a later
-- step that adds a kind need not write `keep` anew. The release before knows nothing of this table and leaves it alone.

create table home (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    -- A name of the IANA time zone database.
    zone text constraint zone_is_a_name check (zone ~ '^[A-Za-z0-9_+/-]{1,40}$'),
    half text constraint half_is_one_of check (half in ('north', 'south')),
    constraint home_key primary key (keeper_id, id),
    constraint home_once unique (keeper_id) deferrable
);
alter table home enable row level security;
create policy own on home using (keeper_id = (select keeper_now()));
grant select, insert, update, delete on home to hatchward_keeper;

-- Whether rows of this name are records of a keeper, which `keep` may write.
create function is_kind(kind text) returns boolean language sql stable as $$
    select count(*) = 3 from pg_attribute a join pg_class c on c.oid = a.attrelid
    where c.relnamespace = 'public'::regnamespace and c.relkind = 'r' and c.relname = kind
        and a.attname in ('keeper_id', 'id', 'version') and not a.attisdropped
$$;

create or replace function keep(what text, sentence text, asked text, rows jsonb)
    returns table (change_id bigint, sentence_before text) language plpgsql
    -- Rows that were just written have no statistics yet: they would be joined one by one.
    set enable_nestloop = off as $$
declare
    me bigint := keeper_now();
    this bigint;
    target text;
    late text;
    last_number integer;
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
    for target in select distinct item ->> 'kind' from jsonb_array_elements(rows) item loop
        if target is null or not is_kind(target) then
            raise exception 'no such kind of record: %', target using errcode = 'HW400';
        end if;
        -- What each row was and shall be, in the list of changes.
        execute format('
            insert into change_row (keeper_id, change_id, place, kind, id, before, after)
            select $1, $2, item.place, $3, (item.value ->> ''id'')::bigint, to_jsonb(t),
                case when jsonb_typeof(item.value -> ''row'') = ''object'' then (item.value -> ''row'') || jsonb_build_object(
                    ''keeper_id'', $1, ''id'', (item.value ->> ''id'')::bigint,
                    ''version'', coalesce((item.value ->> ''seen'')::integer, 0) + 1) end
            from jsonb_array_elements($4) with ordinality item (value, place)
            left join %I t on t.keeper_id = $1 and t.id = (item.value ->> ''id'')::bigint
            where item.value ->> ''kind'' = $3', target) using me, this, target, rows;
    end loop;
    -- The first record that is not as it was seen, or that stands there twice.
    select late_kind || ' ' || late_id into late from (
        select r.kind, r.id, r.place
            from change_row r
            join jsonb_array_elements(rows) with ordinality item (value, place) on item.place = r.place
            where r.keeper_id = me and r.change_id = this
                and (r.before ->> 'version')::integer is distinct from (item.value ->> 'seen')::integer
        union all
        select r.kind, r.id, max(r.place) from change_row r where r.keeper_id = me and r.change_id = this
            group by r.kind, r.id having count(*) > 1
    ) as lates (late_kind, late_id, late_place) order by late_place limit 1;
    if late is not null then
        raise exception 'changed meanwhile' using errcode = 'HW409', detail = late;
    end if;
    perform write_rows(
            r.kind,
            coalesce(array_agg(r.id) filter (where r.after is null), '{}'),
            coalesce(jsonb_agg(r.after order by r.place) filter (where r.before is not null and r.after is not null), '[]'),
            coalesce(jsonb_agg(r.after order by r.place) filter (where r.before is null and r.after is not null), '[]'))
        from change_row r where r.keeper_id = me and r.change_id = this group by r.kind;
    select max((r.after ->> 'number')::integer) into last_number
        from change_row r where r.keeper_id = me and r.change_id = this and r.kind = 'animal' and r.before is null;
    if last_number is not null then
        update keeper set next_number = greatest(next_number, last_number + 1) where keeper.id = me;
    end if;
    set constraints all immediate;
    -- What is older than 30 days and not among the last 50 can no longer be taken back.
    delete from change where change.keeper_id = me and change.at < now() - interval '30 days' and change.id not in
        (select c.id from change c where c.keeper_id = me order by c.id desc limit 50);
    return query select this, null::text;
end
$$;
