-- Why: a community pins explanations and words them its own way. Posts are edited in place when what they say changes, so
-- each is kept with a mark of what it says; drafts are kept until they are published, so that nothing typed is lost.

create table discord_post (
    id bigint generated always as identity primary key,
    guild_id bigint not null,
    channel_id bigint not null,
    message_id bigint not null constraint discord_post_once unique,
    topics text[] not null,                           -- one topic, or several to choose from ("start here")
    mark text not null,                               -- of what it says now
    pinned boolean not null default false,
    posted_at timestamptz not null default now()
);
create index discord_post_by_server on discord_post (guild_id);

create table discord_words (
    guild_id bigint primary key,
    file text not null,                               -- the server's own wording and short names, in the form of an export
    changed_at timestamptz not null default now()
);

create table discord_draft (
    id bigint primary key,                            -- the interaction that began it
    guild_id bigint not null,
    member_id bigint not null,
    topic text not null,
    body text not null,
    written_at timestamptz not null default now()
);

grant select, insert, update, delete on discord_post, discord_words, discord_draft to hatchward_keeper;
