//! The line: hello, identify, resume, heartbeats, and every way to be dropped.

use std::time::{Duration, Instant};

use serde_json::{Value, json};
use serenity::futures::{SinkExt, StreamExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::protocol::CloseFrame;

use super::events::{server, user};
use super::{BOT, Platform, SERVER, TOKEN};

/// A session: what was told, and the line that is open for it.
#[derive(Debug, Default)]
pub(crate) struct Session {
    /// Its shard, and of how many.
    pub(crate) shard: (u64, u64),
    told: Vec<Value>,
    open: Option<UnboundedSender<Order>>,
}

/// What the stand-in does on a line.
#[derive(Debug, Clone)]
pub(crate) enum Order {
    /// Sends this.
    Tell(Value),
    /// Closes with this code.
    Close(u16),
}

/// Takes lines.
pub(crate) async fn run(platform: Platform, listener: TcpListener) {
    while let Ok((stream, _)) = listener.accept().await {
        tokio::spawn(line(platform.clone(), stream));
    }
}

async fn line(platform: Platform, stream: TcpStream) {
    let Ok(socket) = tokio_tungstenite::accept_async(stream).await else { return };
    let (mut out, mut heard) = socket.split();
    let (orders, mut ordered) = unbounded_channel::<Order>();
    let hello = json!({"op": 10, "d": {"heartbeat_interval": platform.heartbeat.as_millis()}, "s": null, "t": null});
    if out.send(Message::Text(hello.to_string())).await.is_err() {
        return;
    }
    loop {
        tokio::select! {
            order = ordered.recv() => match order {
                Some(Order::Tell(value)) => {
                    if out.send(Message::Text(value.to_string())).await.is_err() {
                        return;
                    }
                }
                Some(Order::Close(code)) => {
                    let frame = CloseFrame { code: code.into(), reason: "".into() };
                    let _ = out.send(Message::Close(Some(frame))).await;
                    return;
                }
                None => return,
            },
            message = heard.next() => match message {
                Some(Ok(Message::Text(text))) => {
                    let Ok(value) = serde_json::from_str::<Value>(&text) else { return };
                    platform.hear(&value, &orders);
                }
                Some(Ok(Message::Close(_)) | Err(_)) | None => return,
                Some(Ok(_)) => {}
            },
        }
    }
}

impl Platform {
    fn hear(&self, value: &Value, orders: &UnboundedSender<Order>) {
        let tell = |value: Value| drop(orders.send(Order::Tell(value)));
        match value["op"].as_u64() {
            Some(1) if !self.with(|s| s.deaf) => tell(json!({"op": 11, "d": null, "s": null, "t": null})),
            Some(2) => {
                let d = &value["d"];
                if let Some(code) = self.with(|s| s.refuse_identify.pop()) {
                    let _ = orders.send(Order::Close(code));
                    return;
                }
                if d["token"].as_str().is_none_or(|t| t.trim_start_matches("Bot ") != TOKEN) {
                    let _ = orders.send(Order::Close(4004));
                    return;
                }
                let came = Instant::now();
                let shard = (d["shard"][0].as_u64().unwrap_or(0), d["shard"][1].as_u64().unwrap_or(1));
                let session = format!("session-{}", self.id());
                let here = |id: u64| (id >> 22) % shard.1 == shard.0;
                let mut servers = vec![(SERVER, self.with(|s| s.special.clone()))];
                servers.extend(self.with(|s| s.servers.clone()));
                servers.retain(|(id, _)| here(*id));
                let named: Vec<Value> =
                    servers.iter().map(|(id, _)| json!({"id": id.to_string(), "unavailable": true})).collect();
                self.with(|s| {
                    s.intents = d["intents"].as_u64().unwrap_or(0);
                    s.identifies.push(shard);
                    s.identified_at = Some(came);
                    let open = Some(orders.clone());
                    s.sessions.insert(session.clone(), Session { shard, told: Vec::new(), open });
                });
                let ready = json!({"v": 10, "user": user(BOT), "guilds": named, "session_id": session,
                    "resume_gateway_url": self.line, "shard": [shard.0, shard.1],
                    "application": {"id": BOT.to_string(), "flags": 0}});
                self.tell(&session, "READY", &ready);
                for (id, more) in servers {
                    let mut told = server(id, "2024-01-01T00:00:00+00:00");
                    for (key, value) in more.as_object().into_iter().flatten() {
                        told[key] = value.clone();
                    }
                    // The login says when something was last written in each channel.
                    for channel in told["channels"].as_array_mut().into_iter().flatten() {
                        let last = self.with(|s| {
                            let here = |m: &&Value| m["channel_id"] == channel["id"];
                            let ids =
                                s.messages.values().filter(here).filter_map(|m| m["id"].as_str()?.parse::<u64>().ok());
                            ids.max()
                        });
                        channel["last_message_id"] = last.map_or(Value::Null, |id| id.to_string().into());
                    }
                    self.tell(&session, "GUILD_CREATE", &told);
                }
            }
            Some(6) => {
                let session = value["d"]["session_id"].as_str().unwrap_or_default().to_owned();
                let seen = value["d"]["seq"].as_u64().unwrap_or(0);
                let missed = self.with(|s| {
                    let known = s.sessions.get_mut(&session)?;
                    known.open = Some(orders.clone());
                    Some(known.told.iter().filter(|t| t["s"].as_u64() > Some(seen)).cloned().collect::<Vec<_>>())
                });
                let Some(missed) = missed else {
                    tell(json!({"op": 9, "d": false, "s": null, "t": null}));
                    return;
                };
                self.with(|s| s.resumes += 1);
                missed.into_iter().for_each(tell);
                self.tell(&session, "RESUMED", &json!({}));
            }
            _ => {}
        }
        self.changed.notify_waiters();
    }

    /// Tells one session of something.
    fn tell(&self, session: &str, kind: &str, data: &Value) {
        self.with(|s| {
            let Some(session) = s.sessions.get_mut(session) else { return };
            let event = json!({"op": 0, "s": session.told.len() + 1, "t": kind, "d": data});
            session.told.push(event.clone());
            if let Some(open) = &session.open
                && open.send(Order::Tell(event)).is_err()
            {
                session.open = None;
            }
        });
    }

    /// Tells every session whose shard it concerns.
    pub(crate) fn event(&self, kind: &str, data: &Value, server: Option<u64>) {
        let concerned: Vec<String> = self.with(|s| {
            let here = |shard: (u64, u64)| (server.unwrap_or(0) >> 22) % shard.1 == shard.0;
            s.sessions.iter().filter(|(_, session)| here(session.shard)).map(|(id, _)| id.clone()).collect()
        });
        for session in concerned {
            self.tell(&session, kind, data);
        }
    }

    /// Does something on every open line.
    pub(crate) fn order(&self, order: &Order) {
        self.with(|s| {
            for session in s.sessions.values_mut() {
                let gone = session.open.as_ref().is_some_and(|open| open.send(order.clone()).is_err());
                if gone || !matches!(order, Order::Tell(_)) {
                    session.open = None;
                }
            }
        });
    }

    /// Says something on every line, also on those whose session is forgotten.
    pub(crate) fn tell_all(&self, value: &Value) {
        self.order(&Order::Tell(value.clone()));
    }

    /// Forgets every session: a resume is then answered with opcode 9.
    pub(crate) fn forget_sessions(&self) {
        self.with(|s| s.sessions.clear());
    }

    /// Waits until somebody has logged in or resumed since.
    pub(crate) async fn back(&self, identifies: usize, resumes: usize, most: Duration) {
        self.until("a return to the line", most, |s| {
            (s.identifies.len() >= identifies && s.resumes >= resumes).then_some(())
        })
        .await;
    }
}

impl Session {
    /// Whether somebody listens.
    pub(crate) fn is_open(&self) -> bool {
        self.open.as_ref().is_some_and(|open| !open.is_closed())
    }
}
