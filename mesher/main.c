/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb-mesh - fills a closed polyhedron with tetrahedra.
 *
 * The mesher stands in a program of its own, so that its crashes, hangs and hunger for memory end
 * here. It reads a solid from standard input and writes a mesh to standard output, both as words
 * and numbers; the page ebb-mesh(1) describes them.
 */
#include "ebb-mesh.h"

#include <fcntl.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char help[] =
    "Usage: ebb-mesh <SOLID >MESH\n"
    "\n"
    "Fills a closed polyhedron with tetrahedra. It is called by ebb for rooms that are no boxes.\n"
    "\n"
    "  -h, --help     show this help and end\n"
    "      --version  show the version and end\n"
    "\n"
    "The page ebb-mesh(1) describes what is read and written.\n";

void die(const char *format, ...)
{
    va_list list;
    va_start(list, format);
    fputs("ebb-mesh: ", stderr);
    vfprintf(stderr, format, list);
    fputc('\n', stderr);
    va_end(list);
    _Exit(1); /* nothing of Gmsh's is run any more; standard error is not buffered */
}

void *need(size_t n, size_t size)
{
    void *memory = calloc(n > 0 ? n : 1, size);
    if (memory == NULL)
        die("out of memory");
    return memory;
}

/* Gmsh and what it is made of write where they like; the mesh must not be among that. Standard
 * output becomes nothing, and the stream returned is what it was. */
static FILE *keep_output(void)
{
    const int kept = dup(STDOUT_FILENO);
    const int nothing = open("/dev/null", O_WRONLY);
    if (kept < 0 || nothing < 0 || dup2(nothing, STDOUT_FILENO) < 0)
        die("standard output can not be used");
    close(nothing);
    FILE *out = fdopen(kept, "w");
    if (out == NULL)
        die("out of memory");
    return out;
}

/* Lists with their counts at the head and a word at the end: whoever reads knows when something is
 * missing. */
static void write_mesh(const tetrahedra *m, FILE *out)
{
    fprintf(out, "ebb-mesh 1\nnodes %zu\n", m->n_nodes);
    for (size_t i = 0; i < m->n_nodes; i++) /* hexadecimal: exactly the numbers that were made */
        fprintf(out, "%a %a %a\n", m->at[i].x, m->at[i].y, m->at[i].z);
    fprintf(out, "tetrahedra %zu\n", m->n);
    for (size_t i = 0; i < m->n; i++)
        fprintf(out, "%zu %zu %zu %zu\n", m->node[i][0], m->node[i][1], m->node[i][2],
                m->node[i][3]);
    fprintf(out, "faces %zu\n", m->n_faces);
    for (size_t i = 0; i < m->n_faces; i++)
        fprintf(out, "%zu %zu %zu %zu\n", m->facet[i], m->face[i][0], m->face[i][1], m->face[i][2]);
    fprintf(out, "end\n");
}

int main(int argc, char **argv)
{
    if (argc == 2 && (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0))
        return fputs(help, stdout) < 0 || fflush(stdout) != 0;
    if (argc == 2 && strcmp(argv[1], "--version") == 0)
        return printf("ebb-mesh %s\n", EBB_MESH_VERSION) < 0 || fflush(stdout) != 0;
    if (argc != 1) {
        fprintf(stderr, "ebb-mesh: unknown argument '%s'\n%s", argv[1], help);
        return 2;
    }
    request r;
    tetrahedra mesh;
    FILE *out = keep_output();
    read_request(stdin, &r);
    make_mesh(&r, &mesh);
    write_mesh(&mesh, out);
    if (fflush(out) != 0 || ferror(out) != 0)
        die("the mesh can not be written");
    /* Without Gmsh's own end, which takes time and could still go wrong. */
    _Exit(0);
}
