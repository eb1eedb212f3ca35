# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of ebb for bash.

_ebb_options()
{
    case $1 in
    judge) echo --room --report --units --seed --draws --starts --no-relaxed --json --out -o \
        --quiet -q --no-color --help -h ;;
    plan) echo --room --use --report --drawings --units --seed --draws --starts --brief \
        --no-boxes --cache --no-cache --json --out -o --quiet -q --no-color --help -h ;;
    field) echo --room --from --to --step --picture --mode --pressure --speaker --cut \
        --impulse --seat --cache --no-cache --units --json --out -o --quiet -q --no-color --help \
        -h ;;
    reshape) echo --room --plot --sizes --treat --units --seed --json --out -o --quiet -q \
        --no-color --help -h ;;
    unit) echo --claims --plot --section --units --json --out -o --quiet -q --no-color --help -h ;;
    craft) echo --plot --write --units --seed --starts --json --out -o --quiet -q --no-color \
        --help -h ;;
    check) echo --json --out -o --quiet -q --no-color --help -h ;;
    schema) echo --library --out -o --no-color --help -h ;;
    limits) echo --units --json --out -o --no-color --help -h ;;
    *) echo --help -h --version ;;
    esac
}

# Names of the rooms of the job on the command line: `- name: ...` two levels deep, as the files
# are usually written. A guess, so a failure is silent.
_ebb_rooms()
{
    local word
    for word in "${COMP_WORDS[@]:2}"; do
        if [[ $word == *.yaml || $word == *.yml ]] && [[ -r $word ]]; then
            sed -n '/^rooms:/,/^[^ -]/s/^ \{0,2\}- name: *//p' "$word" 2>/dev/null |
                sed 's/ *#.*//; s/^["'\'']//; s/["'\'']$//; s/ /\\ /g'
        fi
    done
}

_ebb()
{
    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD-1]} command=${COMP_WORDS[1]}
    local IFS=$' \t\n'
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        COMPREPLY=($(compgen -W "judge plan field reshape unit craft check schema limits $(_ebb_options)" -- "$cur"))
        return
    fi
    case $prev in
    --units) COMPREPLY=($(compgen -W "metric imperial" -- "$cur")) ;;
    --use) COMPREPLY=($(compgen -W "voice music" -- "$cur")) ;;
    --room)
        IFS=$'\n'
        COMPREPLY=($(compgen -W "$(_ebb_rooms)" -- "$cur"))
        ;;
    --seed | --draws | --starts | --from | --to | --step | --mode | --pressure | \
        --speaker | --seat | --cut | --sizes | --treat) ;;
    --cache)
        compopt -o filenames 2>/dev/null
        IFS=$'\n'
        COMPREPLY=($(compgen -d -- "$cur"))
        ;;
    --report | --drawings | --plot | --picture | --impulse | --section | --write | --out | -o)
        compopt -o filenames 2>/dev/null
        IFS=$'\n'
        COMPREPLY=($(compgen -f -- "$cur"))
        ;;
    *)
        if [[ $cur == -* ]]; then
            COMPREPLY=($(compgen -W "$(_ebb_options "$command")" -- "$cur"))
        else
            compopt -o filenames 2>/dev/null
            IFS=$'\n'
            COMPREPLY=($(compgen -d -- "$cur") $(compgen -f -X '!*.y*ml' -- "$cur"))
        fi
        ;;
    esac
}

complete -F _ebb ebb
