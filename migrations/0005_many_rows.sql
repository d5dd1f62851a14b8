-- Why: an import of 5,000 animals with their weights is one change, and `keep` wrote it a row at a time: it took longer than
-- a statement may (5 s). A change is now written a kind of record at a time. What `keep` and `take_back` take, give and
-- refuse is what it was, so the release before goes on with them; `keep` knows the step before this one as well.
--
-- Measured for 9,012 new rows and for 2,272 animals that go, with their weights, in a collection of 4,506.

-- An animal that goes is looked for in every table that may name it, which read all rows of its keeper each time:
--
--     explain analyze select 1 from weight x where keeper_id = 1 and animal_id = 100 for key share of x;
--     Index Scan using weight_key: Index Cond (keeper_id = 1), Filter (animal_id = 100), 4,505 rows removed
--     Index Scan using weight_of_animal: Index Cond (keeper_id = 1 and animal_id = 100), 1 row, 0.1 ms
--
-- 2,272 animals went in 4 s without these and in 1 s with them. Meetings, clutches and signs are few enough as they are.
create index weight_of_animal on weight (keeper_id, animal_id);
create index meal_of_animal on meal (keeper_id, animal_id);
create index animal_by_sire on animal (keeper_id, sire_id);
create index animal_by_dam on animal (keeper_id, dam_id);

-- Writes the rows of one kind: those that go, those that are changed, those that are new.
create function write_rows(kind text, gone bigint[], changed jsonb, fresh jsonb) returns void language plpgsql as $$
declare
    columns text;
    values_of text;
begin
    if cardinality(gone) > 0 then
        execute format('delete from %I where keeper_id = $1 and id = any ($2)', kind) using keeper_now(), gone;
    end if;
    if jsonb_array_length(changed) > 0 then
        select string_agg(quote_ident(attname), ', '), string_agg('r.' || quote_ident(attname), ', ')
            into columns, values_of from pg_attribute
            where attrelid = kind::regclass and attnum > 0 and not attisdropped;
        execute format('update %I t set (%s) = row(%s) from jsonb_populate_recordset(null::%I, $1) r
            where t.keeper_id = $2 and t.id = r.id', kind, columns, values_of, kind) using changed, keeper_now();
    end if;
    if jsonb_array_length(fresh) > 0 then
        execute format('insert into %I select * from jsonb_populate_recordset(null::%I, $1)', kind, kind) using fresh;
    end if;
end
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
        if target is null or not target = any (array['animal', 'weight', 'meal', 'sign', 'meeting', 'clutch', 'goal', 'carrier_frequency']) then
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

create or replace function take_back() returns table (change_id bigint, kind text, said text) language plpgsql
    set enable_nestloop = off as $$
declare
    me bigint := keeper_now();
    last change;
begin
    perform 1 from keeper where keeper.id = me for update;
    select * into last from change c where c.keeper_id = me and c.undone_at is null order by c.id desc limit 1;
    if last.id is null then
        return;
    end if;
    set constraints all deferred;
    perform write_rows(
            r.kind,
            coalesce(array_agg(r.id) filter (where r.before is null), '{}'),
            coalesce(jsonb_agg(r.before) filter (where r.before is not null and r.after is not null), '[]'),
            coalesce(jsonb_agg(r.before) filter (where r.before is not null and r.after is null), '[]'))
        from change_row r where r.keeper_id = me and r.change_id = last.id group by r.kind;
    set constraints all immediate;
    update change c set undone_at = now() where c.keeper_id = me and c.id = last.id;
    return query select last.id, last.kind, last.said;
end
$$;
