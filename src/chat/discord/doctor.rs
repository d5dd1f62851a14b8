//! What the bot needs, looked at one by one: database, clock, token, application, permissions. Changes nothing but the
//! schema of the database, which `serve` would bring up to date as well.
//!
//! In: settings and the place of the database. Out: [`Finding`]s, each with what to do.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use serde_json::Value;
use serenity::http::{LightMethod, Route};

use super::places::permission;
use super::rest::Rest;
use super::serve::{ask_gateway, database_fault, range};
use crate::collection::store::{Place, Store};
use crate::settings::Settings;

/// Two clocks may differ by so much: the age of a question is counted by both.
const CLOCKS: Duration = Duration::from_secs(30);
/// How long one look at the platform may take.
const LOOK: Duration = Duration::from_secs(15);
/// Flags of an application with the message-content intent, approved or not yet.
const MESSAGE_CONTENT: u64 = 1 << 18 | 1 << 19;
/// Servers looked at for permissions.
const SERVERS: usize = 200;

/// One thing that was looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// 0 where it is fine, else the exit code it leads to.
    pub code: u8,
    /// What was found, and what to do.
    pub text: String,
}

fn fine(text: impl Into<String>) -> Finding {
    Finding { code: 0, text: text.into() }
}

fn wrong(code: u8, text: impl Into<String>) -> Finding {
    Finding { code, text: text.into() }
}

/// Looks at everything.
pub async fn look(settings: &Settings, place: &Place) -> Vec<Finding> {
    let mut found = vec![fine("settings: read, without faults")];
    found.extend(database(place).await);
    let Some(token) = &settings.token else {
        found.push(wrong(
            78,
            "token: none; put the bot's token into DISCORD_TOKEN, or name a file with it in DISCORD_TOKEN_FILE",
        ));
        return found;
    };
    match Rest::new(token, settings.api.clone()) {
        Ok(rest) => found.extend(platform(settings, &rest).await),
        Err(_) => found.push(wrong(1, "encrypted lines: cannot be set up with this build")),
    }
    found
}

async fn database(place: &Place) -> Vec<Finding> {
    let store = match Store::open(place).await {
        Ok(store) => store,
        Err(error) => {
            let ended = database_fault(&error);
            return vec![wrong(ended.code, format!("database: {}", ended.why))];
        }
    };
    let mut found = vec![fine("database: reached, its schema is up to date")];
    let query = sqlx::query_scalar::<_, f64>("select extract(epoch from clock_timestamp())::float8");
    if let Ok(theirs) = query.fetch_one(store.pool()).await {
        found.push(clock("the database", theirs));
    }
    store.close().await;
    found
}

fn clock(whose: &str, theirs: f64) -> Finding {
    let ours = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |d| d.as_secs_f64());
    let apart = (ours - theirs).abs();
    if apart <= CLOCKS.as_secs_f64() {
        fine(format!("clock: within {} s of {whose}", CLOCKS.as_secs()))
    } else {
        let text = format!(
            "clock: {apart:.0} s away from {whose}: set this machine's clock by the network (systemd-timesyncd, chrony)"
        );
        wrong(78, text)
    }
}

async fn platform(settings: &Settings, rest: &Rest) -> Vec<Finding> {
    let mut found = Vec::new();
    let gateway = match ask_gateway(rest).await {
        Ok(gateway) => gateway,
        Err(ended) => return vec![wrong(ended.code, format!("token: {}", ended.why))],
    };
    let (first, last, total) = range(settings.shards, gateway.shards);
    found.push(fine(format!(
        "token: accepted; this process runs shards {first} to {last} of {total} ({} recommended); {} logins are left today",
        gateway.shards, gateway.left
    )));
    if total < gateway.shards {
        found.push(wrong(78, format!(
            "shards: {total} in all are fewer than the {} that the platform recommends: raise the total in discord.shards",
            gateway.shards
        )));
    }
    if let Some(theirs) = rest.their_clock().await {
        found.push(clock("the platform", theirs));
    }
    let get = |route| rest.plain_with(route, LightMethod::Get, None, Vec::new(), LOOK);
    match get(Route::Oauth2ApplicationCurrent).await {
        Ok(application) => found.extend(self::application(settings, &application)),
        Err(failure) => found.push(wrong(75, format!("application: {failure}"))),
    }
    match get(Route::UserMeGuilds).await {
        Ok(servers) => found.extend(permissions(&servers)),
        Err(failure) => found.push(wrong(75, format!("permissions: {failure}"))),
    }
    found
}

fn application(settings: &Settings, told: &Value) -> Vec<Finding> {
    let mut found = Vec::new();
    let switched_on = told["flags"].as_u64().unwrap_or(0) & MESSAGE_CONTENT != 0;
    if settings.message_content && !switched_on {
        found.push(wrong(
            78,
            "application: discord.message_content is true, but the intent is not switched on in the developer portal (Bot, \
             Privileged Gateway Intents): switch it on there, or set the key to false",
        ));
    }
    if let Some(id) = told["id"].as_str() {
        found.push(fine(format!("application: {id}; invite it with {}", invitation(id))));
    }
    found
}

/// The address with which an application is added to a server, with exactly the permissions it needs.
#[must_use]
pub fn invitation(application: &str) -> String {
    format!(
        "https://discord.com/oauth2/authorize?client_id={application}&scope=bot+applications.commands&permissions={}",
        permission::invitation()
    )
}

/// What is missing where. A missing permission is no fault: the answer is only plainer, or not given there.
fn permissions(servers: &Value) -> Vec<Finding> {
    let servers = servers.as_array().map_or(&[][..], Vec::as_slice);
    let of = |server: &Value| server["permissions"].as_str().and_then(|p| p.parse::<u64>().ok()).unwrap_or(0);
    let mut lines = vec![fine(format!("servers: {}", servers.len()))];
    for (bit, name, why) in permission::NEEDED {
        let without = servers.iter().take(SERVERS).filter(|s| of(s) & (bit | permission::ADMINISTRATOR) == 0).count();
        if without > 0 {
            lines.push(fine(format!("permissions: {without} servers do not give \"{name}\" ({why})")));
        }
    }
    if lines.len() == 1 {
        lines.push(fine("permissions: complete in every server"));
    }
    lines
}
