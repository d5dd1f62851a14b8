-- Why: every connection of the program runs as this role, never as the owner of the tables, so that row-level security
-- binds all of its queries. A role belongs to the whole server, so another database of ours may have made it already.
do $$
begin
    create role hatchward_keeper nologin;
exception when duplicate_object or unique_violation then
    null;
end
$$;

-- The login may act as the role. A superuser may in any case, and need not be a member.
do $$
begin
    if not pg_has_role(current_user, 'hatchward_keeper', 'member') then
        execute format('grant hatchward_keeper to %I', current_user);
    end if;
end
$$;

grant usage on schema public to hatchward_keeper;
