-- Why: answers on Discord must be given once, work after a restart and from any process, and nothing that a member types
-- may be kept: only ids and the request in the program's own words. These tables belong to no keeper, so they have no
-- row-level security; each query names the message, the server or the member that it is about.

create table discord_turn (
    source bigint primary key,                        -- the message or interaction that asked
    channel_id bigint not null,
    guild_id bigint not null default 0,               -- 0 in direct messages
    asker_id bigint not null,
    message_id bigint,                                -- the message that holds the answer
    private boolean not null default false,           -- only the asker sees it
    first_request text not null default '',
    last_request text not null default '',
    choices jsonb not null default '[]',
    replaced boolean not null default false,          -- a button has put another answer in its place
    claimed_at timestamptz not null default now(),
    answered_at timestamptz
);
create index discord_turn_by_message on discord_turn (message_id) where message_id is not null;
create index discord_turn_by_talk on discord_turn (channel_id, asker_id, source);
create index discord_turn_by_age on discord_turn (claimed_at);
create index discord_turn_by_asker on discord_turn (asker_id);

create table discord_server (
    guild_id bigint primary key,
    species text not null default '',
    channels bigint[] not null default '{}',          -- empty: everywhere
    mentions text not null default 'on' constraint discord_server_mentions_known check (mentions in ('on', 'react', 'off')),
    quiet boolean not null default false,
    locale text not null default '',
    greeted_at timestamptz,
    removed_at timestamptz
);

create table discord_server_change (
    id bigint generated always as identity primary key,
    guild_id bigint not null references discord_server on delete cascade,
    member_id bigint not null,
    changed_at timestamptz not null default now(),
    setting text not null,
    before text not null,
    after text not null
);
create index discord_server_change_latest on discord_server_change (guild_id, id);

create table discord_shard (
    shard integer primary key,
    total integer not null,
    holder text not null,
    held_until timestamptz not null,
    heard_at timestamptz                              -- the last sign of the platform on this shard
);

create table discord_login (
    one boolean primary key default true constraint discord_login_one_row check (one),
    next_at timestamptz not null default now(),       -- logins are five seconds apart, whatever process makes them
    day date not null default current_date,
    today integer not null default 0
);
insert into discord_login default values;

create table discord_commands (
    scope text primary key,                           -- 'everywhere' or the id of a test server
    hash text not null,
    registered_at timestamptz not null default now()
);

create table discord_pairing (
    id bigint generated always as identity primary key,
    member_id bigint not null,
    request text not null,
    saved_at timestamptz not null default now(),
    constraint discord_pairing_once_per_member unique (member_id, request)
);

grant select, insert, update, delete on discord_turn, discord_server, discord_server_change, discord_shard,
    discord_login, discord_commands, discord_pairing to hatchward_keeper;
