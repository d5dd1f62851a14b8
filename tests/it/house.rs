//! The arrows of the house: a room uses what stands below it, never what stands above; the engine and the reader touch no outside.

use std::fs;
use std::path::{Path, PathBuf};

/// From the top down. `reply` stands on the ground and may be used by all above it.
const ROOMS: [&str; 10] =
    ["chat", "upkeep", "lines", "conversation", "explanations", "collection", "reading", "species", "engine", "reply"];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("the source folder is there").flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn sources() -> Vec<(String, String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    files(&root, &mut found);
    found
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(&root).expect("below src").to_string_lossy().into_owned();
            let room = name.split(['/', '\\']).next().unwrap_or_default().trim_end_matches(".rs").to_owned();
            (name, room, fs::read_to_string(path).expect("a source file is text"))
        })
        .collect()
}

#[test]
fn arrows_point_down() {
    let place = |room: &str| ROOMS.iter().position(|r| *r == room);
    for (name, room, text) in sources() {
        let Some(here) = place(&room) else { continue };
        for used in text.split("crate::").skip(1) {
            let used: String = used.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            if let Some(there) = place(&used) {
                assert!(there >= here, "{name} uses crate::{used}, which stands above {room}");
            }
        }
    }
}

#[test]
fn engine_and_reading_touch_nothing_outside() {
    for (name, room, text) in sources() {
        if matches!(room.as_str(), "engine" | "reading") {
            for forbidden in ["std::fs", "std::io", "std::time", "std::net", "std::env", "std::process", "rand::"] {
                assert!(!text.contains(forbidden), "{name} touches {forbidden}");
            }
        }
    }
}

#[test]
fn folders_are_for_main_alone() {
    for (name, room, text) in sources() {
        if !matches!(room.as_str(), "main" | "operator" | "lib" | "folders") {
            assert!(!text.contains("folders::"), "{name} uses folders, which main hands down");
        }
    }
}
