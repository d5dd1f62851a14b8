//! The README shows real output: its talk is held to word for word.

use hatchward::conversation::Talk;

use crate::member::Chat;

#[test]
fn the_talk_of_the_readme_is_what_the_program_says() {
    let readme = include_str!("../../README.md");
    let (_, rest) = readme.split_once("## What it looks like\n").expect("the section");
    let (talk, _) = rest.split_once("\n## ").expect("a section after it");
    let chat = Chat::new();
    let mut speaker = Talk::new(&chat.catalogue, &chat.reader, None);
    let mut n = 0;
    for turn in talk.split("\n    > ").skip(1) {
        let (said, shown) = turn.split_once('\n').expect("a reply under the message");
        let shown: Vec<&str> = shown.lines().map(|line| line.strip_prefix("    ").unwrap_or(line)).collect();
        let reply = speaker.turn(said).map(|reply| reply.text()).unwrap_or_default();
        assert_eq!(reply, shown.join("\n").trim_end(), "the README shows something else for {said:?}");
        n += 1;
    }
    assert!(n >= 5, "only {n} turns were found");
}
