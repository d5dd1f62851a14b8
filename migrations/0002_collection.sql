-- Why: what a keeper tells of their animals. A record belongs to one keeper and names them in its key, so that two
-- keepers' records can never be joined; row-level security is the second wall, and a connection that has not said for
-- whom it asks (`hatchward.keeper`) sees and changes nothing.
--
-- Every record has a version: who changes it says which version they saw. Every change is written down with the rows
-- before and after it, so that it can be taken back; that happens in `keep` below, the one way in.

-- One numbering for all records, so that records which refer to each other can be numbered before they are saved.
create sequence record_id;

create table keeper (
    id bigint primary key default nextval('record_id'),
    platform text not null constraint platform_is_a_word check (platform ~ '^[a-z]{1,20}$'),
    user_id text not null constraint user_is_short check (length(user_id) between 1 and 64),
    -- Short codes of animals are never given twice, also when an animal is gone.
    next_number integer not null default 1,
    constraint keeper_once unique (platform, user_id)
);

-- The keeper on whose behalf this transaction runs; none outside of one.
create function keeper_now() returns bigint language sql stable as $$
    select nullif(current_setting('hatchward.keeper', true), '')::bigint
$$;

-- "2021", "2021-spring", "2021-06", "2021-06-03": a date as precise as it is known.
create domain day_said as text
    constraint date_is_written_so check (value ~ '^\d{4}(-(spring|summer|autumn|winter)|-\d\d(-\d\d)?)?$');

-- [{"gene", "copies", "chance", "basis"}], chance as an exact fraction.
create function are_genes(genes jsonb) returns boolean language sql immutable as $$
    select jsonb_typeof(genes) = 'array' and jsonb_array_length(genes) <= 64
        and jsonb_array_length(genes) = (select count(*) from jsonb_path_query(genes, '$[*] ? (
            @.gene like_regex "^[a-z0-9_]{1,60}$" && (@.copies == 1 || @.copies == 2)
            && @.chance like_regex "^(1|[0-9]{1,99}/[0-9]{1,99})$"
            && (@.basis == "stated" || @.basis == "inferred" || @.basis == "proven"))'))
$$;

create table animal (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    number integer not null,
    name text constraint name_is_short check (length(name) between 1 and 80 and octet_length(name) <= 200),
    species text not null,
    sex text not null constraint sex_is_known_or_not check (sex in ('male', 'female', 'unknown')),
    sexed text not null constraint sexed_somehow check (sexed in ('guessed', 'stated', 'seen', 'proven')),
    genes jsonb not null constraint genes_are_genes check (are_genes(genes)),
    hatched day_said,
    origin text constraint origin_is_short check (length(origin) <= 200),
    price_cents bigint constraint price_is_sane check (price_cents between 0 and 1000000000000),
    currency text constraint currency_is_a_code check (currency ~ '^[A-Z]{3}$'),
    sire_id bigint,
    sire_out text constraint sire_is_short check (length(sire_out) <= 200),
    dam_id bigint,
    dam_out text constraint dam_is_short check (length(dam_out) <= 200),
    clutch_id bigint,
    status text not null constraint status_is_one_of
        check (status in ('active', 'growing', 'resting', 'for_sale', 'sold', 'died')),
    status_on day_said,
    tags jsonb not null,
    notes text constraint notes_are_short check (length(notes) <= 2000),
    constraint animal_key primary key (keeper_id, id),
    constraint animal_number_once unique (keeper_id, number) deferrable,
    constraint sire_is_kept_or_told check (sire_id is null or sire_out is null),
    constraint dam_is_kept_or_told check (dam_id is null or dam_out is null),
    constraint nobody_is_its_own_parent check (sire_id <> id and dam_id <> id and sire_id <> dam_id),
    constraint sire_is_kept foreign key (keeper_id, sire_id) references animal deferrable,
    constraint dam_is_kept foreign key (keeper_id, dam_id) references animal deferrable
);

create table weight (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    animal_id bigint not null,
    "on" date not null,
    grams integer not null constraint weight_is_sane check (grams between 1 and 200000),
    constraint weight_key primary key (keeper_id, id),
    constraint weight_is_of_an_animal foreign key (keeper_id, animal_id) references animal deferrable
);

create table meal (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    animal_id bigint not null,
    "on" date not null,
    taken boolean not null,
    prey text constraint prey_is_short check (length(prey) <= 80),
    constraint meal_key primary key (keeper_id, id),
    constraint meal_is_of_an_animal foreign key (keeper_id, animal_id) references animal deferrable
);

create table sign (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    animal_id bigint not null,
    "on" day_said not null,
    kind text not null constraint sign_is_one_of
        check (kind in ('building', 'follicles', 'ovulation', 'prelay_shed', 'gravid')),
    size_mm smallint constraint size_is_sane check (size_mm between 1 and 200),
    constraint sign_key primary key (keeper_id, id),
    constraint sign_is_of_an_animal foreign key (keeper_id, animal_id) references animal deferrable
);

create table meeting (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    "on" day_said not null,
    kind text not null constraint meeting_is_one_of check (kind in ('introduced', 'lock', 'separated')),
    sire_id bigint,
    sire_out text constraint sire_is_short check (length(sire_out) <= 200),
    dam_id bigint,
    dam_out text constraint dam_is_short check (length(dam_out) <= 200),
    constraint meeting_key primary key (keeper_id, id),
    constraint one_of_them_is_kept check (sire_id is not null or dam_id is not null),
    constraint meeting_sire_is_kept foreign key (keeper_id, sire_id) references animal deferrable,
    constraint meeting_dam_is_kept foreign key (keeper_id, dam_id) references animal deferrable
);

create table clutch (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    code text constraint code_is_short check (length(code) between 1 and 40),
    sire_id bigint,
    sire_out text constraint sire_is_short check (length(sire_out) <= 200),
    dam_id bigint,
    dam_out text constraint dam_is_short check (length(dam_out) <= 200),
    laid day_said,
    eggs smallint constraint eggs_are_sane check (eggs between 0 and 99),
    slugs smallint constraint slugs_are_sane check (slugs between 0 and 99),
    doubtful smallint constraint doubtful_is_sane check (doubtful between 0 and 99),
    -- Tenths of a degree Celsius.
    warmth smallint constraint warmth_is_sane check (warmth between 100 and 400),
    hatched day_said,
    lost smallint constraint lost_is_sane check (lost between 0 and 99),
    -- [{"males", "females", "unsexed", "genes"}]: the young by look and sex.
    young jsonb not null constraint young_are_a_list check (jsonb_typeof(young) = 'array'),
    notes text constraint notes_are_short check (length(notes) <= 2000),
    constraint clutch_key primary key (keeper_id, id),
    constraint one_of_them_is_kept check (sire_id is not null or dam_id is not null),
    constraint clutch_sire_is_kept foreign key (keeper_id, sire_id) references animal deferrable,
    constraint clutch_dam_is_kept foreign key (keeper_id, dam_id) references animal deferrable
);

alter table animal add constraint clutch_is_kept foreign key (keeper_id, clutch_id) references clutch deferrable;

create table goal (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null,
    version integer not null,
    species text not null,
    genes jsonb not null constraint genes_are_genes check (are_genes(genes)),
    sex text not null constraint sex_is_known_or_not check (sex in ('male', 'female', 'unknown')),
    constraint goal_key primary key (keeper_id, id)
);

-- What was changed, newest last, for "undo" and "what changed".
create table change (
    keeper_id bigint not null references keeper on delete cascade,
    id bigint not null default nextval('record_id'),
    at timestamptz not null default now(),
    kind text not null,
    -- Our own sentence about the change, never the member's.
    said text not null,
    -- The id of the message or press that asked for it: it is done once, however often it arrives.
    once text constraint once_is_short check (length(once) <= 200),
    undone_at timestamptz,
    constraint change_key primary key (keeper_id, id),
    constraint change_once unique (keeper_id, once)
);

create table change_row (
    keeper_id bigint not null,
    change_id bigint not null,
    place integer not null,
    kind text not null,
    id bigint not null,
    before jsonb,
    after jsonb,
    constraint change_row_key primary key (keeper_id, change_id, place),
    constraint change_row_is_of_a_change foreign key (keeper_id, change_id) references change on delete cascade
);

do $$
declare
    name text;
begin
    foreach name in array array['animal', 'weight', 'meal', 'sign', 'meeting', 'clutch', 'goal', 'change', 'change_row'] loop
        execute format('alter table %I enable row level security', name);
        execute format('create policy own on %I using (keeper_id = (select keeper_now()))', name);
        execute format('grant select, insert, update, delete on %I to hatchward_keeper', name);
    end loop;
end
$$;
alter table keeper enable row level security;
create policy own on keeper using (id = (select keeper_now()));
grant select, update, delete on keeper to hatchward_keeper;
grant usage on sequence record_id to hatchward_keeper;

-- The number of a keeper, none where they have saved nothing yet. It runs as the owner of the tables, because nobody is
-- on hand yet on whose behalf to ask.
create function keeper_of(for_platform text, for_user text) returns bigint
    language sql stable security definer set search_path = public, pg_temp as $$
    select id from keeper where platform = for_platform and user_id = for_user
$$;

create function keeper_for(for_platform text, for_user text) returns bigint
    language sql security definer set search_path = public, pg_temp as $$
    insert into keeper (platform, user_id) values (for_platform, for_user) on conflict on constraint keeper_once do nothing;
    select id from keeper where platform = for_platform and user_id = for_user;
$$;

-- Writes one row as it shall be (none: it goes), whatever its table.
create function write_row(kind text, row_id bigint, old jsonb, new jsonb) returns void language plpgsql as $$
declare
    columns text;
begin
    if new is null then
        execute format('delete from %I where keeper_id = $1 and id = $2', kind) using keeper_now(), row_id;
    elsif old is null then
        execute format('insert into %I select (jsonb_populate_record(null::%I, $1)).*', kind, kind) using new;
    else
        select string_agg(quote_ident(attname), ', ') into columns from pg_attribute
            where attrelid = kind::regclass and attnum > 0 and not attisdropped;
        execute format('update %I set (%s) = (select %s from jsonb_populate_record(null::%I, $1)) where keeper_id = $2 and id = $3',
            kind, columns, columns, kind) using new, keeper_now(), row_id;
    end if;
end
$$;

-- Saves a change: rows as [{"kind", "id", "seen", "row"}]. `seen` is the version that was seen, none for a new row;
-- `row` is the row as it shall be, none to let it go. All of it happens, or none of it. A change that was asked for
-- `once` before is not done again.
create function keep(what text, sentence text, asked text, rows jsonb)
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
        if not target = any (array['animal', 'weight', 'meal', 'sign', 'meeting', 'clutch', 'goal']) then
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

-- Takes back the last change that still stands.
create function take_back() returns table (change_id bigint, kind text, said text) language plpgsql as $$
declare
    me bigint := keeper_now();
    last change;
    step change_row;
begin
    perform 1 from keeper where keeper.id = me for update;
    select * into last from change c where c.keeper_id = me and c.undone_at is null order by c.id desc limit 1;
    if last.id is null then
        return;
    end if;
    set constraints all deferred;
    for step in select * from change_row r where r.keeper_id = me and r.change_id = last.id order by r.place desc loop
        perform write_row(step.kind, step.id, step.after, step.before);
    end loop;
    set constraints all immediate;
    update change c set undone_at = now() where c.keeper_id = me and c.id = last.id;
    return query select last.id, last.kind, last.said;
end
$$;
