//! A person, or a script, at a command line: the process itself, by its words, its colours and its exit codes.

use std::io::{Read as _, Write as _};
use std::process::{Command, Output, Stdio};

fn hatchward(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hatchward"));
    command.args(args);
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "HATCHWARD_LOG", "HATCHWARD_SPECIES", "HATCHWARD_WORDS"] {
        command.env_remove(name);
    }
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

fn run(command: &mut Command, input: &[u8]) -> (String, String, i32) {
    let mut child = command.spawn().expect("the program starts");
    // A program that has ended does not read what is left.
    let _ = child.stdin.take().expect("a pipe").write_all(input);
    let Output { status, stdout, stderr } = child.wait_with_output().expect("the program ends");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (text(stdout), text(stderr), status.code().expect("no signal"))
}

fn asked(args: &[&str]) -> (String, String, i32) {
    run(&mut hatchward(args), b"")
}

#[test]
fn exit_codes_tell_answers_from_failures_and_wrong_use() {
    let (out, err, code) = asked(&["ask", "het clown x clown, 6 eggs?"]);
    assert!(out.contains("1/2  50 %  Clown") && err.is_empty(), "{out}{err}");
    assert_eq!(code, 0);
    // Something is asked back: there are no odds yet.
    let (out, _, code) = asked(&["ask", "axanthic pied x normal"]);
    assert!(out.contains("Which line"), "{out}");
    assert_eq!(code, 1);
    let (out, err, code) = asked(&["ask", "lol nice weather"]);
    assert!(out.is_empty() && err.contains("no question"), "{out}{err}");
    assert_eq!(code, 1);
    assert_eq!(asked(&["ask"]).2, 2);
    assert_eq!(asked(&["ask", "--species", "dragon", "clown x clown"]).2, 1);
    assert_eq!(asked(&["--color", "sometimes", "paths"]).2, 2);
}

#[test]
fn two_dashes_end_the_options() {
    let (out, _, code) = asked(&["ask", "--json", "--", "--species", "clown", "x", "clown"]);
    assert_eq!(code, 0, "{out}");
    assert!(out.contains("Clown × Clown"), "{out}");
    let (out, _, code) = asked(&["ask", "het clown x clown", "--json"]);
    assert_eq!(code, 0, "{out}");
    assert!(out.starts_with("{\"format\":\"hatchward-reply\",\"version\":1,\"kind\":\"answer\""), "{out}");
}

#[test]
fn the_object_holds_what_the_text_says() {
    let (out, _, _) = asked(&["ask", "--json", "spider x het clown, 6 eggs"]);
    let object: serde_json::Value = serde_json::from_str(&out).expect("one object");
    assert_eq!(object["understood"], "Ball python: Spider × het Clown, 6 eggs");
    assert_eq!(object["rows"][0]["fraction"], "1/2");
    assert_eq!(object["rows"][0]["in_clutch"], "98.4 % in 6");
    assert!(object["cautions"][0].as_str().is_some_and(|c| c.starts_with("Spider: wobble")));
    let keys = ["answer", "assumed", "choices", "grid", "notes", "rest", "text", "unread"];
    assert!(keys.iter().all(|key| object.get(key).is_some()), "{object}");
    let (out, _, code) = asked(&["ask", "--json", "lol nice weather"]);
    assert!(out.contains("\"kind\":\"silence\""), "{out}");
    assert_eq!(code, 1);
    let (out, ..) = run(&mut hatchward(&["chat", "--json"]), "axanthic pied x normal\nvpi\n".as_bytes());
    let kinds: Vec<serde_json::Value> = out
        .lines()
        .map(|l| serde_json::from_str::<serde_json::Value>(l).expect("an object a line")["kind"].clone())
        .collect();
    assert_eq!(kinds, ["question", "answer"]);
}

#[test]
fn colour_is_only_where_it_is_wanted() {
    let coloured = |args: &[&str], variables: &[(&str, &str)]| {
        let (out, _, code) = run(hatchward(args).envs(variables.iter().copied()), b"");
        assert_eq!(code, 0);
        out.contains('\u{1b}')
    };
    let ask = ["ask", "clown x clown"];
    assert!(!coloured(&ask, &[]), "no terminal, no colour");
    assert!(coloured(&ask, &[("CLICOLOR_FORCE", "1")]));
    assert!(coloured(&["--color", "always", "ask", "clown x clown"], &[]));
    assert!(coloured(&["ask", "--color", "always", "clown x clown"], &[("NO_COLOR", "1")]), "what is said counts most");
    assert!(!coloured(&["ask", "--color", "never", "clown x clown"], &[("CLICOLOR_FORCE", "1")]));
    assert!(!coloured(&ask, &[("NO_COLOR", "1")]));
    assert!(!coloured(&["chat", "--plain", "--color", "always"], &[]));
}

#[test]
fn a_pipe_gets_no_picture_and_the_file_is_written_all_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("clutch.png");
    let path = file.display().to_string();
    for (more, variables) in [
        (&["--images", "auto"][..], &[("TERM", "xterm-kitty"), ("KITTY_WINDOW_ID", "1")][..]),
        (&["--images", "kitty"], &[]),
        (&["--images", "iterm", "--light"], &[("TERM_PROGRAM", "iTerm.app")]),
        (&["--images", "never"], &[]),
    ] {
        let args = [&["--memory", "ask", "het clown x clown, 6 eggs?", "--picture", &path], more].concat();
        let (out, err, code) = run(hatchward(&args).envs(variables.iter().copied()), b"");
        assert!(
            code == 0 && err.is_empty() && out.contains("Clown") && !out.contains('\u{1b}'),
            "{more:?}: {out}{err}"
        );
        let bytes = std::fs::read(&file).expect("a file");
        assert_eq!(&bytes[1..4], b"PNG", "{more:?}");
        std::fs::remove_file(&file).expect("it is there");
    }
}

#[test]
fn text_is_wrapped_for_people_and_not_for_programs() {
    let long = "dh clown pied pastel enchi x dh clown pied pastel enchi";
    let (out, ..) = asked(&["ask", long]);
    assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    let (plain, ..) = run(&mut hatchward(&["chat", "--plain"]), format!("{long}\n").as_bytes());
    assert!(plain.lines().any(|l| l.chars().count() > 80), "{plain}");
    let joined = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(joined(&out), joined(&plain));
}

#[test]
fn lines_are_answered_one_by_one() {
    let talk = "het clown x clown\nlol\n\nand with 9 eggs?\n";
    let (out, _, code) = run(&mut hatchward(&["chat", "--plain", "--memory", "--separator", "--"]), talk.as_bytes());
    assert_eq!(code, 0);
    assert_eq!(out.lines().filter(|l| *l == "--").count(), 4, "{out}");
    assert!(out.contains("(99.8 % in 9)"), "{out}");
    // Any text is a separator, also one of signs that no terminal shows.
    let (out, ..) = run(&mut hatchward(&["chat", "--plain", "--separator", "\u{1}\u{1b}[0m"]), b"lol\n");
    assert_eq!(out, "\u{1}\u{1b}[0m\n");
    // For people at a pipe, silence is said and empty lines are nothing.
    let (out, ..) = run(&mut hatchward(&[]), talk.as_bytes());
    assert_eq!(out.matches("I heard no question").count(), 1, "{out}");
    let (out, ..) = run(
        &mut hatchward(&["chat", "--plain", "--separator", "."]),
        b"odds please\\nclown x clown\r\n\xff\xfe x clown\n",
    );
    assert!(out.starts_with("Ball python: Clown × Clown"), "{out}");
    assert_eq!(out.lines().filter(|l| *l == ".").count(), 2, "{out}");
}

#[test]
fn a_message_over_the_limit_is_refused_and_the_talk_goes_on() {
    let mut talk = "clown ".repeat(2_000);
    talk.push_str("\nclown x clown\n");
    let (out, _, code) = run(&mut hatchward(&["chat", "--plain", "--separator", "--"]), talk.as_bytes());
    assert!(out.starts_with("That is too long: I read at most 8,192 bytes"), "{out}");
    assert!(out.contains("Clown × Clown"), "{out}");
    assert_eq!(code, 0);
}

#[test]
fn a_closed_pipe_is_no_error() {
    let mut child = hatchward(&["chat", "--plain", "--separator", "--"]).spawn().expect("the program starts");
    let mut input = child.stdin.take().expect("a pipe");
    input.write_all(b"clown x clown\n").expect("it reads");
    let mut out = child.stdout.take().expect("a pipe");
    out.read_exact(&mut [0]).expect("it answers");
    drop(out);
    for _ in 0..200 {
        if input.write_all("clown x clown\n".repeat(50).as_bytes()).is_err() {
            break;
        }
    }
    drop(input);
    let mut err = String::new();
    child.stderr.take().expect("a pipe").read_to_string(&mut err).expect("text");
    assert_eq!((child.wait().expect("it ends").code(), err.as_str()), (Some(0), ""));
}

#[test]
fn traces_hold_no_word_of_a_message() {
    let (_, err, code) = asked(&["--verbose", "ask", "het clown x clown, 6 eggs"]);
    assert_eq!(code, 0);
    assert!(err.contains("answered a message") && err.contains("message.n_bytes=25"), "{err}");
    assert!(!err.to_lowercase().contains("clown"), "{err}");
    let (_, err, _) = run(hatchward(&["ask", "clown x clown"]).env("HATCHWARD_LOG", "hatchward=trace"), b"");
    assert!(err.contains("took_us"), "{err}");
    let (_, err, _) = run(hatchward(&["ask", "clown x clown"]).env("HATCHWARD_LOG", "hatchward=loud"), b"");
    assert!(err.contains("HATCHWARD_LOG"), "{err}");
}

#[test]
fn paths_and_help_say_where_things_are() {
    let (out, _, code) =
        run(hatchward(&["paths"]).env("HOME", "/nest").env_remove("XDG_DATA_HOME").env_remove("XDG_CONFIG_HOME"), b"");
    assert_eq!(code, 0);
    assert!(out.contains("hatchward") && out.contains("history") && out.contains("settings"), "{out}");
    let (out, _, code) = asked(&["ask", "--help"]);
    assert_eq!(code, 0);
    assert!(out.contains("--json") && out.contains("--color"), "{out}");
    let (out, ..) = asked(&["--help"]);
    assert!(out.contains("Exit codes: 0 answered"), "{out}");
    assert!(asked(&["completions", "fish"]).0.contains("hatchward"));
    assert!(asked(&["man"]).0.contains(".TH"));
}

#[test]
fn the_catalogue_shows_whatever_has_a_name() {
    let shown = |name: &str| {
        let (out, err, code) = asked(&["catalogue", "show", name]);
        assert_eq!(code, 0, "{name}: {err}");
        out
    };
    assert!(shown("clown").contains("inheritance: recessive"));
    let bee = shown("bumblebee");
    assert!(bee.contains("is: Pastel, Spider") && bee.contains("caution: Spider: wobble"), "{bee}");
    assert!(shown("mojave lesser").contains("never both") && shown("Lesser Mojave").contains("never both"));
    assert!(shown("axanthic").contains("lines: Axanthic (VPI)"));
    assert!(shown("vpi axanthic").contains("Axanthic (VPI) (Ball python)"));
    assert!(shown("yellow belly complex").contains("genes: Yellow Belly"));
    assert!(shown("bel").contains("is asked about"));
    assert!(shown("snow").contains("Corn snake") && shown("snow").contains("Albino of one line"));
    let (_, err, code) = asked(&["catalogue", "show", "flurbl"]);
    assert!(err.contains("nothing is called \"flurbl\"") && code == 1, "{err}");
}

#[test]
fn a_word_a_gene_and_the_list_of_topics_are_explained() {
    let (out, err, code) = asked(&["explain", "66", "het"]);
    assert!(out.starts_with("Possible het, and why 66 %") && err.is_empty(), "{out}{err}");
    assert_eq!(code, 0);
    let (out, _, code) = asked(&["explain", "--json", "--species", "boa", "ghost"]);
    let object: serde_json::Value = serde_json::from_str(&out).expect("one object");
    assert_eq!((object["understood"].as_str(), code), (Some("Ghost (Boa)"), 0));
    // Several things fit: something is asked back.
    assert_eq!(asked(&["explain", "ghost"]).2, 1);
    let (out, _, code) = asked(&["explain"]);
    assert!(out.contains("Wobble genes") && out.contains("Quarantine for new animals"), "{out}");
    assert_eq!(code, 0);
}

#[test]
fn words_of_ones_own_come_from_a_file_and_faults_in_it_are_named() {
    let file = std::env::temp_dir().join(format!("hatchward-words-{}.toml", std::process::id()));
    let path = file.to_str().expect("a path of text");
    let alias =
        "hatchward_words = 1\n[[alias]]\nword = \"zorka\"\nmeans = \"pastel clown\"\nspecies = \"ball python\"\n";
    let bad = "[[alias]]\nword = \"het\"\nmeans = \"clown\"\nspecies = \"ball python\"\n";
    std::fs::write(&file, format!("{alias}{bad}")).expect("a file in the temporary folder");
    let (out, err, code) = asked(&["--words", path, "ask", "zorka x normal"]);
    std::fs::remove_file(&file).expect("it is there");
    assert!(out.contains("Pastel, Clown × normal-looking") && out.contains("stands for pastel clown"), "{out}");
    assert!(err.contains(":6: alias: \"het\" has a meaning in every pairing"), "{err}");
    assert_eq!(code, 0);
    assert_eq!(asked(&["--words", path, "ask", "clown x clown"]).2, 1, "no such file");
}

#[test]
fn a_collection_goes_out_and_in_by_commands() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    let kept = |data: &str, args: &[&str], input: &str| {
        let mut command = hatchward(&["--data", &path(data), "--today", "2026-11-25"]);
        command.args(args).env_remove("DATABASE_URL").env("USER", "maren");
        run(&mut command, input.as_bytes())
    };
    let (out, ..) = kept("a", &["chat", "--plain"], "add 0.1 ball python clown named Juno\nJuno 1500 g\n");
    assert!(out.contains("Saved Juno"), "{out}");
    let (out, err, code) = kept("a", &["export", &path("all.json")], "");
    assert!(code == 0 && out.contains("1 animal and 1 other record"), "{out}{err}");
    // A file that is there is never overwritten, and a form must be said.
    assert_eq!(kept("a", &["export", &path("all.json")], "").2, 1);
    assert_eq!(kept("a", &["export", &path("all")], "").2, 1);
    let (out, err, code) = kept("b", &["import", &path("all.json")], "");
    assert!(code == 1 && out.contains("Type \"save\"") && err.contains("nothing was saved"), "{out}{err}");
    let (out, err, code) = kept("b", &["import", &path("all.json")], "save\n");
    assert!(code == 0 && out.contains("Saved 1 new animal"), "{out}{err}");
    let (out, err, code) = kept("b", &["backup", &path("all.backup")], "");
    assert!(code == 0 && out.contains("rows written"), "{out}{err}");
    assert_eq!(kept("b", &["backup", &path("all.backup")], "").2, 1);
    let (_, err, code) = kept("a", &["restore", &path("all.backup")], "");
    assert!(code == 1 && err.contains("--replace"), "{err}");
    let (out, err, code) = kept("c", &["restore", &path("all.backup")], "");
    assert!(code == 0 && out.contains("rows taken in"), "{out}{err}");
    assert!(kept("c", &["ask", "Juno"], "").0.contains("1,500 g"));
}
