//! Requests: what the platform makes of them.

use std::time::Instant;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::State as Extract;
use axum::http::{HeaderMap, Method, Response, Uri};
use hatchward::chat::discord::limits::{self, Kind};
use hatchward::chat::discord::places::permission;
use serde_json::{Value, json};
use tokio::net::TcpListener;

use super::events::user;
use super::{BOT, CHANNEL, DIRECT, Fault, Platform, Request, TOKEN, schema};

/// Takes requests.
pub(crate) async fn run(platform: Platform, listener: TcpListener) {
    let app = Router::new().fallback(take).with_state(platform);
    axum::serve(listener, app).await.expect("the stand-in runs");
}

async fn take(
    Extract(platform): Extract<Platform>,
    method: Method,
    uri: Uri,
    headers: HeaderMap,
    body: Bytes,
) -> Response<Body> {
    let path = uri.path_and_query().map_or("", |p| p.as_str()).trim_start_matches("/api/v10").to_owned();
    if let Some(file) = path.strip_prefix("/attachments/") {
        return platform.hand_out(file, &headers);
    }
    let (value, files) = read(&headers, &body);
    platform.with(|s| s.arrived.push((method.to_string(), path.clone())));
    platform.changed.notify_waiters();
    let (mut lose, mut late) = (false, None);
    let planned = platform.with(|s| {
        let at = s.planned.iter().position(|p| p.times > 0 && p.method == method.as_str() && path.contains(&p.path))?;
        s.planned[at].times -= 1;
        Some(s.planned[at].fault)
    });
    let mut answer = None;
    match planned {
        Some(Fault::Status(status, code)) => answer = Some((status, json!({"code": code, "message": "planned"}))),
        Some(Fault::Slow { wait, everywhere }) => {
            let body = json!({"message": "slow", "retry_after": wait.as_secs_f64(), "global": everywhere});
            answer = Some((429, body));
        }
        Some(Fault::LoseAnswer) => lose = true,
        Some(Fault::Late(wait)) => tokio::time::sleep(wait).await,
        Some(Fault::AnswerLate(wait)) => late = Some(wait),
        None => {}
    }
    let allowed = headers.get("authorization").and_then(|v| v.to_str().ok()) == Some(&format!("Bot {TOKEN}"));
    let (status, answer) = answer.unwrap_or_else(|| {
        if !allowed && !path.starts_with("/interactions/") && !path.starts_with("/webhooks/") {
            return (401, json!({"code": 0, "message": "401: Unauthorized"}));
        }
        // What a file shows is told in the body, by its place.
        let told = |n: usize| {
            let body = if value["data"].is_object() { &value["data"] } else { &value };
            body["attachments"][n]["description"].clone()
        };
        let files: Vec<Value> = files
            .into_iter()
            .enumerate()
            .map(|(n, (name, bytes))| {
                let mut kept = platform.keep(&name, bytes);
                kept["description"] = told(n);
                kept
            })
            .collect();
        platform.answer(method.as_str(), &path, &value, &files)
    });
    let at = Instant::now();
    let status_told = if lose { 0 } else { status };
    platform.with(|s| {
        s.requests.push(Request { method: method.to_string(), path, body: value, at, status: status_told });
    });
    platform.changed.notify_waiters();
    if let Some(wait) = late {
        tokio::time::sleep(wait).await;
    }
    if lose {
        // A body that is announced and never comes is a cut line.
        let broken = serenity::futures::stream::iter([Err::<Bytes, _>(std::io::Error::other("cut"))]);
        return Response::builder().status(200).body(Body::from_stream(broken)).expect("a response");
    }
    let mut response = Response::builder().status(status).header("content-type", "application/json");
    if status == 429 {
        response = response.header("retry-after", answer["retry_after"].to_string());
        if answer["global"] == true {
            response = response.header("x-ratelimit-global", "true").header("x-ratelimit-scope", "global");
        }
    }
    let body = if answer.is_null() { Body::empty() } else { Body::from(answer.to_string()) };
    response.body(body).expect("a response")
}

/// The JSON of a body, and the files beside it by name.
fn read(headers: &HeaderMap, body: &[u8]) -> (Value, Vec<(String, Vec<u8>)>) {
    let kind = headers.get("content-type").and_then(|v| v.to_str().ok()).unwrap_or_default();
    let Some((_, boundary)) = kind.split_once("boundary=") else {
        return (serde_json::from_slice(body).unwrap_or(Value::Null), Vec::new());
    };
    let mark = format!("--{}", boundary.trim_matches('"'));
    let (mut value, mut files) = (Value::Null, Vec::new());
    for part in split(body, mark.as_bytes()) {
        let Some(end) = find(part, b"\r\n\r\n") else { continue };
        let head = String::from_utf8_lossy(&part[..end]).into_owned();
        let inside = part[end + 4..].strip_suffix(b"\r\n").unwrap_or(&part[end + 4..]);
        if head.contains("name=\"payload_json\"") {
            value = serde_json::from_slice(inside).unwrap_or(Value::Null);
        } else if let Some((_, name)) = head.split_once("filename=\"") {
            files.push((name.split('"').next().unwrap_or_default().to_owned(), inside.to_vec()));
        }
    }
    (value, files)
}

fn find(text: &[u8], what: &[u8]) -> Option<usize> {
    text.windows(what.len()).position(|w| w == what)
}

fn split<'a>(mut text: &'a [u8], mark: &[u8]) -> Vec<&'a [u8]> {
    let mut parts = Vec::new();
    while let Some(at) = find(text, mark) {
        parts.push(&text[..at]);
        text = &text[at + mark.len()..];
    }
    parts
}

impl Platform {
    /// Keeps a file that was handed in, and says where it is.
    pub(crate) fn keep(&self, name: &str, bytes: Vec<u8>) -> Value {
        let id = self.id();
        let (size, path) = (bytes.len(), format!("{CHANNEL}/{id}/{name}"));
        self.with(|s| s.files.insert(path.clone(), bytes));
        let url = format!("{}/attachments/{path}", self.api);
        json!({"id": id.to_string(), "filename": name, "size": size, "url": url, "proxy_url": url,
               "content_type": "application/octet-stream"})
    }

    /// What a file holds that was handed in here.
    pub(crate) fn content(&self, attachment: &Value) -> Vec<u8> {
        let url = attachment["url"].as_str().unwrap_or_default();
        let path = url.split_once("/attachments/").map_or("", |(_, path)| path);
        self.with(|s| s.files.get(path).cloned()).unwrap_or_else(|| panic!("no file is kept at {attachment}"))
    }

    fn hand_out(&self, file: &str, headers: &HeaderMap) -> Response<Body> {
        if headers.contains_key("authorization") {
            self.with(|s| s.complaints.push("a token was sent to the store of files".to_owned()));
        }
        self.with(|s| s.fetched.push(file.to_owned()));
        let found = self.with(|s| s.files.get(file).cloned());
        let (status, bytes) = found.map_or((404, Vec::new()), |bytes| (200, bytes));
        Response::builder().status(status).body(Body::from(bytes)).expect("a response")
    }

    fn answer(&self, method: &str, path: &str, body: &Value, files: &[Value]) -> (u16, Value) {
        let bare = path.split('?').next().unwrap_or_default();
        let parts: Vec<&str> = bare.trim_matches('/').split('/').collect();
        match (method, &parts[..]) {
            ("GET", ["gateway"]) => (200, json!({"url": self.line})),
            ("GET", ["gateway", "bot"]) => {
                let left = 1000 - self.with(|s| s.identifies.len());
                let limit = json!({"total": 1000, "remaining": left, "reset_after": 3_600_000, "max_concurrency": 1});
                (200, json!({"url": self.line, "shards": self.shards, "session_start_limit": limit}))
            }
            ("GET", ["users", "@me"]) => (200, user(BOT)),
            ("GET", ["applications", "@me"] | ["oauth2", "applications", "@me"]) => (
                200,
                json!({"id": BOT.to_string(), "name": "Hatchward", "flags": 0, "bot_public": true,
                    "description": "", "icon": null, "bot_require_code_grant": false, "verify_key": "", "summary": ""}),
            ),
            ("GET", ["users", "@me", "guilds"]) => {
                // The second of them gives everything but Embed Links.
                let server = |id: u64, permissions: u64| {
                    json!({"id": id.to_string(), "name": "Scales", "icon": null,
                    "owner": false, "permissions": permissions.to_string(), "features": []})
                };
                (
                    200,
                    json!([
                        server(1, permission::invitation()),
                        server(2, permission::invitation() & !permission::EMBED)
                    ]),
                )
            }
            ("POST", ["users", "@me", "channels"]) => {
                self.complain("direct", "direct", body);
                (200, json!({"id": DIRECT.to_string(), "type": 1, "recipients": [user(super::MAREN)]}))
            }
            ("POST", ["channels", channel, "messages"]) => self.create(channel, body, files),
            ("GET", ["channels", channel, "messages"]) => (200, self.history(channel, path)),
            ("PATCH", ["channels", channel, "messages", id]) if self.stands_in(channel, id) => self.edit(id, body),
            ("GET", ["channels", channel, "messages", id]) if self.stands_in(channel, id) => {
                (200, self.with(|s| s.messages.get(&id.parse().unwrap_or(0)).cloned()).unwrap_or(Value::Null))
            }
            ("DELETE", ["channels", channel, "messages", id]) if self.stands_in(channel, id) => {
                self.with(|s| s.messages.remove(&id.parse().unwrap_or(0)));
                (204, Value::Null)
            }
            ("PATCH" | "GET" | "DELETE", ["channels", _, "messages", _]) => {
                (404, json!({"code": 10008, "message": "Unknown Message"}))
            }
            ("PUT", ["channels", _, "messages", _, "reactions", ..]) => (204, Value::Null),
            ("PUT" | "DELETE", ["channels", _, "pins", id]) => {
                let pinned = self.with(|s| {
                    let message = s.messages.get_mut(&id.parse().ok()?)?;
                    message["pinned"] = (method == "PUT").into();
                    Some(())
                });
                if pinned.is_some() {
                    (204, Value::Null)
                } else {
                    (404, json!({"code": 10008, "message": "Unknown Message"}))
                }
            }
            ("POST", ["interactions", id, token, "callback"]) => self.callback(id, token, body, files),
            ("PATCH", ["webhooks", _, token, "messages", "@original"]) => self.original(token, body, files),
            ("PUT", ["applications", _, .., "commands"]) => {
                self.judge(path, Kind::Commands, "commands", body);
                self.with(|s| s.commands.insert(bare.to_owned(), body.clone()));
                (200, body.clone())
            }
            _ => (404, json!({"code": 0, "message": format!("404: {method} {path}")})),
        }
    }

    /// Complains about a body that the platform would not take.
    fn judge(&self, path: &str, kind: Kind, name: &str, body: &Value) {
        if self.with(|s| s.lenient) {
            return;
        }
        let mut wrong: Vec<String> = limits::check(kind, if name == "callback" { &body["data"] } else { body })
            .into_iter()
            .map(|b| format!("{path}: {}: {}", b.place, b.what))
            .collect();
        wrong.extend(schema::check(name, body).into_iter().map(|w| format!("{path}: schema: {w}")));
        self.with(|s| s.complaints.extend(wrong));
    }

    /// Complains about a body that is not as the description says.
    fn complain(&self, path: &str, name: &str, body: &Value) {
        let wrong = schema::check(name, body).into_iter().map(|w| format!("{path}: schema: {w}"));
        self.with(|s| s.complaints.extend(wrong));
    }

    /// Whether a message stands in a channel.
    fn stands_in(&self, channel: &str, id: &str) -> bool {
        self.with(|s| s.messages.get(&id.parse().unwrap_or(0)).is_some_and(|m| m["channel_id"] == channel))
    }

    fn posted(&self, channel: &str, body: &Value, files: &[Value]) -> Value {
        let id = self.id();
        let mut message = json!({
            "id": id.to_string(), "channel_id": channel, "author": user(BOT), "content": body["content"].as_str().unwrap_or(""),
            "timestamp": "2026-01-01T00:00:00+00:00", "edited_timestamp": null, "tts": false, "mention_everyone": false,
            "mentions": [], "mention_roles": [], "attachments": files, "embeds": body["embeds"].as_array().cloned().unwrap_or_default(),
            "pinned": false, "type": 0, "flags": body["flags"].as_u64().unwrap_or(0),
            "components": body["components"].as_array().cloned().unwrap_or_default(),
        });
        if !body["message_reference"].is_null() {
            message["message_reference"] = body["message_reference"].clone();
            message["message_reference"]["type"] = 0.into();
            message["message_reference"]["channel_id"] = channel.into();
            message["type"] = 19.into();
        }
        self.with(|s| s.messages.insert(id, message.clone()));
        message
    }

    fn create(&self, channel: &str, body: &Value, files: &[Value]) -> (u16, Value) {
        self.judge("create", Kind::Message, "message_create", body);
        if self.with(|s| s.closed_direct) && channel == DIRECT.to_string() {
            return (403, json!({"code": 50007, "message": "Cannot send messages to this user"}));
        }
        if self.with(|s| s.no_embeds) && body["embeds"].as_array().is_some_and(|e| !e.is_empty()) {
            return (403, json!({"code": 50013, "message": "Missing Permissions"}));
        }
        let nonce = body["nonce"].as_str().filter(|_| body["enforce_nonce"] == true);
        let key = nonce.map(|n| (channel.to_owned(), n.to_owned()));
        if let Some(first) = key.as_ref().and_then(|k| self.with(|s| s.nonces.get(k).copied())) {
            return (200, self.with(|s| s.messages.get(&first).cloned()).unwrap_or(Value::Null));
        }
        let message = self.posted(channel, body, files);
        if let Some(key) = key {
            let id = message["id"].as_str().and_then(|i| i.parse().ok()).expect("an id");
            self.with(|s| s.nonces.insert(key, id));
        }
        (200, message)
    }

    fn edit(&self, id: &str, body: &Value) -> (u16, Value) {
        self.judge("edit", Kind::Edit, "message_edit", body);
        let edited = self.with(|s| {
            let message = s.messages.get_mut(&id.parse().ok()?)?;
            change(message, body);
            Some(message.clone())
        });
        edited.map_or((404, json!({"code": 10008, "message": "Unknown Message"})), |m| (200, m))
    }

    fn history(&self, channel: &str, path: &str) -> Value {
        let after = path.split("after=").nth(1).and_then(|t| t.split('&').next()).and_then(|t| t.parse::<u64>().ok());
        let mut found: Vec<Value> = self.with(|s| {
            let here = |(id, m): &(&u64, &Value)| m["channel_id"] == channel && after.is_none_or(|a| **id > a);
            s.messages.iter().filter(here).map(|(_, m)| m.clone()).collect()
        });
        // Newest first, as the platform gives them; without the server's id, as it does over HTTP.
        found.sort_by_key(|m| std::cmp::Reverse(m["id"].as_str().and_then(|i| i.parse::<u64>().ok())));
        for message in &mut found {
            if let Some(message) = message.as_object_mut() {
                message.remove("guild_id");
                message.remove("member");
            }
        }
        Value::Array(found)
    }

    fn callback(&self, id: &str, token: &str, body: &Value, files: &[Value]) -> (u16, Value) {
        if self.with(|s| s.interactions.contains_key(token)) {
            return (400, json!({"code": 40060, "message": "Interaction has already been acknowledged."}));
        }
        let kind = body["type"].as_u64().unwrap_or(0);
        match kind {
            4 | 7 => self.judge("callback", Kind::Message, "callback", body),
            8 => self.judge("callback", Kind::Choices, "callback", body),
            9 => self.judge("callback", Kind::Form, "callback", body),
            5 | 6 => self.complain("callback", "callback", body),
            other => self.with(|s| s.complaints.push(format!("interaction {id}: answered with kind {other}"))),
        }
        let message = if kind == 4 { self.posted(&CHANNEL.to_string(), &body["data"], files) } else { Value::Null };
        let message = match kind {
            7 => self.changed_in_place(token, &body["data"]),
            8 | 9 => body["data"].clone(),
            _ => message,
        };
        let private = body["data"]["flags"].as_u64().unwrap_or(0) & 64 != 0;
        self.with(|s| {
            s.interactions
                .insert(token.to_owned(), json!({"type": kind, "message": message, "private": private, "edits": 0}));
        });
        (204, Value::Null)
    }

    /// The message under whose component the answer changes it, here and in the channel.
    fn changed_in_place(&self, token: &str, body: &Value) -> Value {
        self.with(|s| {
            let Some(mut message) = s.origins.get(token).cloned() else { return body.clone() };
            change(&mut message, body);
            let id = message["id"].as_str().and_then(|id| id.parse::<u64>().ok()).unwrap_or(0);
            if let Some(there) = s.messages.get_mut(&id) {
                *there = message.clone();
            }
            message
        })
    }

    fn original(&self, token: &str, body: &Value, files: &[Value]) -> (u16, Value) {
        self.judge("original", Kind::Edit, "original_edit", body);
        if !self.with(|s| s.interactions.contains_key(token)) {
            return (404, json!({"code": 10015, "message": "Unknown Webhook"}));
        }
        let old = self.with(|s| s.interactions[token]["message"].clone());
        let message = if old["id"].is_string() {
            let mut message = old;
            change(&mut message, body);
            message
        } else {
            // Who sees it was fixed by the announcement.
            let mut body = body.clone();
            if self.with(|s| s.interactions[token]["private"] == true) {
                body["flags"] = 64.into();
            }
            self.posted(&CHANNEL.to_string(), &body, files)
        };
        self.with(|s| {
            let answer = s.interactions.get_mut(token).expect("it is there");
            answer["message"] = message.clone();
            answer["edits"] = (answer["edits"].as_u64().unwrap_or(0) + 1).into();
        });
        (200, message)
    }
}

fn change(message: &mut Value, body: &Value) {
    for key in ["content", "embeds", "components"] {
        if !body[key].is_null() {
            message[key] = body[key].clone();
        }
    }
    message["edited_timestamp"] = "2026-01-01T00:00:01+00:00".into();
}
